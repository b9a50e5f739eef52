"""What the gate asks of a release tag before it looks at the release: the reference, the tag, the number.

A release tag is ``refs/tags/release/<job>/<n>``: annotated, straight on a commit, called inside what it is called
outside, new, never moved or deleted. Its number is free, and after all that is asked for at once there is no gap below
it; a number whose release record lies in the history, but can never be tagged, is no gap. Its message names the release
record and that record's SHA-256.
"""

from collections.abc import Collection, Mapping, Sequence
from itertools import pairwise

from tracker.frozen import dataclass
from tracker.policy.release_rules import Reason
from tracker.records.ids import is_id
from tracker.typed import Protocol

RELEASES = "refs/tags/release/"
_STANDS_ON = {
    "blob": "on a blob, the content of a file, not on a state of the shop",
    "tree": "on a tree, a folder, not on a state of the shop",
    "commit": "straight on a commit, in nobody's name and without a record",
    "tag": "on something that is no state of the shop",
}
_PATH_LINE, _SHA_LINE = "record: ", "sha256: "
_HEX = frozenset("0123456789abcdef")
_SHA_DIGITS = 64


class Tag(Protocol):
    """A tag as found; nothing about it is believed yet. See `tracker.services.ports.TagSeen`."""

    @property
    def ref(self) -> str:
        """The reference."""

    @property
    def kind(self) -> str:
        """Kind of the object it points at: tag, commit, tree or blob."""

    @property
    def target(self) -> str | None:
        """The commit an annotated tag names directly, or None."""

    @property
    def header_name(self) -> str | None:
        """The name inside the tag."""

    @property
    def message(self) -> str:
        """Its text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseName:
    """``4471`` and 2 of ``refs/tags/release/4471/2``."""

    job: str
    number: int

    @property
    def tag(self) -> str:
        """``release/4471/2``."""
        return f"release/{self.job}/{self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What is to become of a reference: ``old`` the value it has, ``new`` the one it is to get; None: nothing."""

    ref: str
    old: str | None
    new: str | None


def release_name(ref: str) -> ReleaseName | None:
    """The job and number of a release tag, or None where the reference is not called like one."""
    parts = ref.removeprefix(RELEASES).split("/")
    if not ref.startswith(RELEASES) or len(parts) != 2 or not is_id(parts[0]):
        return None
    number = parts[1]
    if not (number.isascii() and number.isdigit()) or number.startswith("0"):
        return None
    return ReleaseName(job=parts[0], number=int(number))


def message_of(job: str, number: int, path: str, sha256: str) -> str:
    """The message of a release tag."""
    return f"{job} release {number}\n\nrecord: {path}\nsha256: {sha256}\n"


def named_record(message: str) -> tuple[str, str] | None:
    """Path and SHA-256 of the record a message names, or None unless it names exactly one."""
    lines = message.replace("\r\n", "\n").split("\n")
    found = [
        (path.removeprefix(_PATH_LINE), digest.removeprefix(_SHA_LINE))
        for path, digest in pairwise(lines)
        if path.startswith(_PATH_LINE) and digest.startswith(_SHA_LINE)
    ]
    named = [(path, digest) for path, digest in found if path[:1].strip() and _is_sha256(digest)]
    return named[0] if len(named) == 1 else None


def _is_sha256(text: str) -> bool:
    return len(text) == _SHA_DIGITS and set(text) <= _HEX


def no_release(tag: Tag) -> Reason | None:
    """Why a reference can be no release whatever it is called, and how to be rid of it; None where it may be one.

    A release is an annotated tag straight on a commit. Anything else is in nobody's name and names no record.
    """
    if tag.kind == "tag" and tag.target is not None:
        return None
    on = _STANDS_ON.get(tag.kind, f"straight on a {tag.kind}")
    short = tag.ref.removeprefix("refs/tags/")
    return Reason(
        words=f"{short} is no release: the tag stands {on}",
        clears=f"quality deletes it: git tag -d {short}; where it was pushed: git push origin :{tag.ref}",
    )


def change_reasons(change: Change) -> list[Reason]:
    """Moved, deleted, or not called like a release."""
    if release_name(change.ref) is None:
        return [
            Reason(words=f"{change.ref} is not called like a release", clears="proveout release JOB names it")
        ]
    if change.new is None:
        return [Reason(words=f"{change.ref} would be deleted: a release is never taken back, only withdrawn")]
    if change.old is not None:
        return [Reason(words=f"{change.ref} exists already: a release tag is never moved or made again")]
    return []


def tag_reasons(tag: Tag) -> list[Reason]:
    """What is wrong with the tag itself."""
    name = release_name(tag.ref)
    make = "make it with proveout release JOB"
    if name is None:
        return [Reason(words=f"{tag.ref} is not called like a release", clears=make)]
    if tag.kind != "tag":
        return [
            Reason(words=f"{tag.ref} is no annotated tag: it points straight at a {tag.kind}", clears=make)
        ]
    if tag.target is None:
        return [Reason(words=f"{tag.ref} does not stand straight on a commit", clears=make)]
    found: list[Reason] = []
    if tag.header_name != name.tag:
        words = f"{tag.ref} is called {tag.header_name or 'nothing'} inside"
        found.append(Reason(words=words, clears=make))
    if named_record(tag.message) is None:
        found.append(Reason(words=f"the message of {tag.ref} names no release record", clears=make))
    return found


def number_reasons(
    asked: Sequence[ReleaseName],
    taken: Collection[ReleaseName],
    passed_over: Mapping[str, Collection[int]] | None = None,
) -> dict[ReleaseName, list[Reason]]:
    """Numbers that are used twice, or leave a gap below them when everything asked for is there.

    Args:
        asked: the releases asked for at once, in any order.
        taken: the releases there are.
        passed_over: job (lower case) -> numbers that count as used though no tag has them.
    """
    found: dict[ReleaseName, list[Reason]] = {name: [] for name in asked}
    used: dict[str, set[int]] = {}
    for name in taken:
        used.setdefault(name.job.casefold(), set()).add(name.number)
    for name in asked:
        there = used.setdefault(name.job.casefold(), set())
        if name.number in there:
            found[name].append(Reason(words=f"release {name.number} of {name.job} exists already"))
        there.add(name.number)
    for name in asked:
        there = used[name.job.casefold()] | set((passed_over or {}).get(name.job.casefold(), ()))
        missing = next((number for number in range(1, name.number) if number not in there), None)
        if missing is not None:
            found[name].append(_gap(name, missing))
    return found


def _gap(name: ReleaseName, missing: int) -> Reason:
    return Reason(
        words=f"release {name.number} of {name.job} leaves a gap: there is no release {missing}",
        clears=f"push or make release {missing} first: git push origin release/{name.job}/{missing}",
    )
