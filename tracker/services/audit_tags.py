"""Whether every release tag stands for a release record, and every release record has its tag."""

import re
from collections.abc import Iterable, Iterator, Sequence

from tracker.policy.gate import no_release
from tracker.policy.release_tag import maker_words
from tracker.records.events import ReleaseRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.ports import TagSeen
from tracker.services.problem import REFUSE, Problem
from tracker.services.rederive import Derived

_REF = re.compile(r"refs/tags/release/(?P<job>[^/]+)/(?P<number>[1-9][0-9]*)")

Release = tuple[Stored, ReleaseRecord]


def audit_tags(ledger: Ledger, tags: Iterable[TagSeen]) -> tuple[list[Problem], list[TagSeen]]:
    """What release tags are by themselves and to the records; and those nothing is wrong with so far.

    Args:
        ledger: every record.
        tags: every reference below refs/tags/release/.
    """
    releases = [
        (stored, stored.record) for stored in ledger.records if isinstance(stored.record, ReleaseRecord)
    ]
    by_name: dict[tuple[str, int], list[Release]] = {}
    for pair in releases:
        by_name.setdefault(((pair[1].job or "").casefold(), pair[1].number), []).append(pair)
    tagged: set[str] = set()
    problems: list[Problem] = []
    sound: list[TagSeen] = []
    for tag in tags:
        found = _REF.fullmatch(tag.ref)
        if found is None:
            problems.append(_refuse("odd-tag", tag, "no release is called that: release/JOB/NUMBER"))
            continue
        mine = by_name.get((found["job"].casefold(), int(found["number"])), [])
        tagged |= {stored.path for stored, _ in mine}
        wrong = [*_form(tag), *_record(tag, mine)]
        problems += wrong or _maker(ledger, tag, mine)
        if not wrong:
            sound.append(tag)
    return [*problems, *_untagged(releases, tagged), *_twice(releases)], sound


def not_derived(found: Derived) -> Iterator[Problem]:
    """Why the gate would not open for a release today."""
    for reason in found.reasons:
        yield _refuse("release-not-derived", found.tag, reason.words)


def _form(tag: TagSeen) -> Iterable[Problem]:
    """What the tag is by itself."""
    cause = no_release(tag)
    if tag.kind != "tag":
        name = "lightweight-tag" if tag.kind == "commit" else "tag-not-on-commit"
        yield _refuse(name, tag, str(cause))
        return
    if cause is not None:
        yield _refuse("tag-not-on-commit", tag, str(cause))
    own = tag.ref.removeprefix("refs/tags/")
    if tag.header_name != own:
        yield _refuse("renamed-tag", tag, f"the tag was made as {tag.header_name}, and stands here as {own}")


def _record(tag: TagSeen, mine: Sequence[Release]) -> Iterable[Problem]:
    """What the tag is to the records."""
    if not mine and no_release(tag) is None:  # else it is named for what it is
        yield _refuse("planted-tag", tag, "no release record knows this tag")
    if not mine or tag.target is None or no_release(tag) is not None:
        return
    named = [stored for stored, _ in mine if stored.path in tag.message and stored.sha256 in tag.message]
    if not named:
        yield _refuse("tag-without-record", tag, f"the tag does not name {mine[0][0].path} with its hash")
    elif tag.target not in [stored.commit for stored in named]:
        made = named[0].commit[:12]
        yield _refuse(
            "moved-tag", tag, f"the release was made at {made}, the tag stands on {tag.target[:12]}"
        )


def _maker(ledger: Ledger, tag: TagSeen, mine: Sequence[Release]) -> Iterator[Problem]:
    """In whose name the tag is."""
    shops = [ledger.shop, *(version.shop for version in ledger.shops)]
    found = [maker_words(tag.tagger, record, shops) for _, record in mine]
    words = found[0] if found and all(found) else None
    if words is not None and tag.data:
        yield _refuse("not-its-author", tag, words)


def _untagged(releases: Sequence[Release], tagged: set[str]) -> Iterable[Problem]:
    for stored, record in releases:
        if stored.path not in tagged:
            message = f"release {record.number} of {record.job} has no tag: it was deleted, or never made"
            yield Problem(problem="missing-tag", severity=REFUSE, where=stored.path, message=message)


def _twice(releases: Sequence[Release]) -> Iterable[Problem]:
    seen: dict[tuple[str, int], Stored] = {}
    for stored, record in releases:
        first = seen.setdefault(((record.job or "").casefold(), record.number), stored)
        if first.sha256 != stored.sha256:
            message = f"release {record.number} of {record.job} has another record too"
            yield Problem(problem="release-twice", severity=REFUSE, where=stored.path, message=message)


def _refuse(name: str, tag: TagSeen, message: str) -> Problem:
    return Problem(problem=name, severity=REFUSE, where=tag.ref, message=message)
