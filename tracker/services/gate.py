"""The gate: whether release tags may be made, here or by a push into a shared repository.

All release tags of one call are judged together: their numbers as a set, each of them by itself. What is asked for
nothing new (a reference packed, a tag made as it is) passes. A push is judged more strictly than a tag made here:

- stops on any branch of the receiving repository count, not only those of the release's own history,
- a number is no gap only where its record can never be tagged; here a record in the history is enough, since a fetch
  brings tags one by one in any order,
- records made with a clock that was set by hand are turned away,
- the texts behind a carry chain are read back and compared again,
- the checks are run again with the rules of the receiving side, whatever version of them a record names: `release` has
  run them too that day. Only in a first push, which brings a whole history, a record of other rules is left to itself.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence

from tracker.frozen import dataclass
from tracker.policy.derive import not_named
from tracker.policy.gate import (
    RELEASES,
    Change,
    ReleaseName,
    change_reasons,
    no_release,
    number_reasons,
    release_name,
)
from tracker.policy.release_rules import Reason, decide
from tracker.policy.release_tag import maker_words, who_can_tag
from tracker.policy.standing import Judge
from tracker.policy.unsigned import signing_shop
from tracker.records.events import ReleaseRecord
from tracker.records.stored import Stored
from tracker.services.ports import Recorded, TagSeen
from tracker.services.rederive import Derived, rederive, tag_for

_ASIDE = Reason(
    words="was made without knowing all that the shared branch held then: its commit does not descend from the branch",
    clears="proveout share, then proveout release again",
)
Look = Callable[[str, str], TagSeen]
"""Reads the object a reference is to point at: (reference, object id)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Per reference the reasons against it, in the order asked; nothing but empty ones: the gate opens."""

    reasons: Mapping[str, tuple[Reason, ...]]

    @property
    def opens(self) -> bool:
        """Whether nothing stands against anything asked for."""
        return not any(self.reasons.values())

    @property
    def lines(self) -> tuple[str, ...]:
        """Every reason on a line, with its reference and what clears it."""
        return tuple(
            f"{ref.removeprefix('refs/tags/')}: {reason}"
            for ref, found in self.reasons.items()
            for reason in found
        )


def gate(
    repo: Recorded,
    changes: Sequence[Change],
    look: Look,
    *,
    push: bool = False,
    aside: Callable[[str], bool] = lambda _: False,
    first: bool = False,
) -> Answer:
    """Decide about ``changes``; references that are no release's pass.

    Args:
        repo: the clone, or the repository pushed into.
        changes: what is to become of references; ``old`` as read from the references just now.
        look: reads tag objects that no reference points at yet.
        push: the changes are a push.
        aside: whether a release on this commit would be made aside of the branch it is pushed to.
        first: the push goes into an empty repository: its releases may be from years ago.

    Raises:
        CouldNot: the repository cannot tell; the gate stays closed.
    """
    asked = [c for c in changes if c.ref.startswith(RELEASES) and c.old != c.new]
    found: dict[str, list[Reason]] = {
        change.ref: [] if _only_clears(change, look) else change_reasons(change) for change in asked
    }
    derived: dict[ReleaseName, Derived] = {}
    for change in asked:
        name = release_name(change.ref)
        if found[change.ref] or change.new is None or name is None:
            continue
        tag = rederive(repo, look(change.ref, change.new))
        derived[name] = tag
        found[change.ref] += tag.reasons
        if not push:
            found[change.ref] += _maker(repo, tag)
        if push and tag.holds:
            found[change.ref] += _push_reasons(repo, tag, first=first)
        if tag.tag.target is not None and aside(tag.tag.target):
            found[change.ref].append(_ASIDE)
    for name, reasons in _numbers(repo, derived, aside, push=push).items():
        found[f"refs/tags/{name.tag}"] += reasons
    return Answer(reasons={ref: tuple(dict.fromkeys(reasons)) for ref, reasons in found.items()})


def _only_clears(change: Change, look: Look) -> bool:
    """Whether a deletion takes away what never was a release: a tag on a file, a bare name for a commit."""
    return (
        change.new is None and change.old is not None and no_release(look(change.ref, change.old)) is not None
    )


def _numbers(
    repo: Recorded, derived: Mapping[ReleaseName, Derived], aside: Callable[[str], bool], *, push: bool
) -> Mapping[ReleaseName, list[Reason]]:
    asked = {name.tag for name in derived}
    there = (release_name(tag.ref) for tag in repo.release_tags() if no_release(tag) is None)
    taken = [name for name in there if name is not None and name.tag not in asked]
    tagged = {(name.job.casefold(), name.number) for name in (*taken, *derived)}
    passed_over: dict[str, set[int]] = {}
    for name, found in derived.items():
        job = name.job.casefold()
        for stored, record in _older_records(found):
            free = (job, record.number) not in tagged
            can_come = push and not aside(stored.commit) and _can_be_tagged(repo, found, stored, record)
            if free and not can_come:
                passed_over.setdefault(job, set()).add(record.number)
    return number_reasons(list(derived), taken, passed_over)


def _can_be_tagged(repo: Recorded, found: Derived, stored: Stored, record: ReleaseRecord) -> bool:
    """Whether the tag of an older record can still be made by somebody; ``found``: a release after it, made just now."""
    if found.ledger is None or found.record is None:
        return True
    before, _ = signing_shop(found.ledger, stored)
    nobody = who_can_tag(record, before, found.ledger.shop, found.record.entered) == ()
    return not nobody and rederive(repo, tag_for(stored, record)).holds


def _maker(repo: Recorded, found: Derived) -> Iterator[Reason]:
    """In whose name the tag is: asked here before it is made, since it could not be taken back; of a push by a rule of its own."""
    if found.record is None or found.ledger is None or found.name is None or not found.tag.data:
        return
    versions = repo.ledger_of_job(found.tag.target or "", found.name.job).shops
    words = maker_words(found.tag.tagger, found.record, [found.ledger.shop, *(one.shop for one in versions)])
    if words is not None:
        yield Reason(words=words, clears="proveout release JOB makes it")


def _older_records(found: Derived) -> Iterator[tuple[Stored, ReleaseRecord]]:
    """The records of earlier releases in its history."""
    for stored in found.ledger.records if found.ledger and found.name else ():
        record = stored.record
        if stored.in_hand and isinstance(record, ReleaseRecord) and stored is not found.stored:
            yield stored, record


def _push_reasons(repo: Recorded, found: Derived, *, first: bool) -> Iterator[Reason]:
    """What the receiving side knows beyond the release's own history."""
    yield from _set_clocks(found)
    yield from _chains(repo, found)
    if found.record is not None and found.decision is not None and not first:
        yield from not_named(found.record, found.decision)
    if found.tag.target is None or found.name is None or found.facts is None or found.record is None:
        return
    ledger = repo.ledger(found.tag.target)
    day = found.record.entered
    facts = found.facts
    # what checks programs is loaded by the receiving side only
    from tracker.services.judged_again import judged_again, told_apart

    again = judged_again(facts, found.ledger, same_version_only=first) if found.ledger else facts.operations
    everywhere = decide(ledger, Judge(ledger, day), found.name.job, facts.folder, again)
    reasons = [*everywhere.reasons]
    for operation in found.record.operations:
        if not everywhere.reasons and everywhere.of(operation.operation) is None:
            left = [one for one in everywhere.left_out if one.facts.operation == operation.operation]
            reasons += [reason for one in left for reason in one.reasons]
    yield from reasons
    if reasons and found.ledger is not None and again != facts.operations:
        yield from told_apart(facts, found.ledger)


def _chains(repo: Recorded, found: Derived) -> Iterator[Reason]:
    """The texts behind what stands, compared again."""
    # only a push compares, and what compares is a good part of what the local hook would have to load
    from tracker.services.chain_check import chain_reasons

    for one in found.decision.included if found.decision and found.ledger else ():
        for _, standing in one.usable:
            if one.revision is not None and found.ledger is not None:
                yield from chain_reasons(repo, found.ledger, standing.chain, one.revision)


def _set_clocks(found: Derived) -> Iterator[Reason]:
    record = found.record
    if record is None or found.ledger is None:
        return
    named = {reference.path for operation in record.operations for reference in operation.relied_on}
    for stored in found.ledger.records:
        if stored.record.clock is not None and (stored.path in named or stored is found.stored):
            yield Reason(words=f"{stored.path} was made with a clock set by hand")
