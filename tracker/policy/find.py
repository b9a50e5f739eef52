"""Which record is meant: revisions of an operation, the newest ones, the one a person named, and what was struck.

Names of jobs and operations are compared without regard to case. A revision is *in hand* when the tree decided about
holds its record; those only on another branch or tag are looked at for stops, never for permission.
"""

from collections.abc import Iterable, Iterator, Mapping

from tracker.errors import BadCall
from tracker.policy.strikes import struck
from tracker.records.events import RevisionRecord
from tracker.records.stored import Ledger, Stored
from tracker.typed import Protocol

__all__ = [
    "NamedRevision",
    "by_name",
    "find_revision",
    "label",
    "newest",
    "newest_by_operation",
    "newest_of",
    "number_of",
    "revisions",
    "struck",
]


class NamedRevision(Protocol):
    """What a person named: a job, perhaps a revision's number and the opening digits of its record."""

    @property
    def job(self) -> str:
        """The job's number."""

    @property
    def revision(self) -> int | None:
        """The revision's number, or None for the newest."""

    @property
    def digits(self) -> str | None:
        """Opening digits of the record's own hash, in lower case, or None."""


def number_of(name: str) -> int:
    """3 of ``r0003-7f3a09c2``, of ``r0003`` and of ``r3``; 0 if the name is none of a revision."""
    head = name.split("-", 1)[0].lower()
    return int(head[1:]) if head.startswith("r") and head[1:].isdecimal() else 0


def label(name: str | None) -> str:
    """``r3`` of ``r0003-7f3a09c2``: the way a revision is written on a screen; ``?`` when there is no name."""
    number = number_of(name or "")
    return f"r{number}" if number else (name or "?")


def same_name(a: str | None, b: str | None) -> bool:
    """Whether two ids are the same without regard to case; None equals nothing."""
    return a is not None and b is not None and a.casefold() == b.casefold()


def of_operation(records: Iterable[Stored], job: str, operation: str) -> tuple[Stored, ...]:
    """The records of one operation, as they come."""
    return tuple(
        stored
        for stored in records
        if same_name(stored.record.job, job) and same_name(stored.record.operation, operation)
    )


def revisions(ledger: Ledger, job: str, operation: str, *, everywhere: bool = False) -> tuple[Stored, ...]:
    """Revision records of an operation, oldest first; ``everywhere``: those of other branches too."""
    found = [
        stored
        for stored in of_operation(ledger.records, job, operation)
        if isinstance(stored.record, RevisionRecord) and (everywhere or stored.in_hand)
    ]
    return tuple(sorted(found, key=_in_line))


def newest(ledger: Ledger, job: str, operation: str) -> tuple[Stored, ...]:
    """The revisions in hand that no other one came from: one, none, or several after two clones' check-ins."""
    return heads(revisions(ledger, job, operation))


def newest_by_operation(ledger: Ledger, job: str) -> Mapping[str, tuple[Stored, ...]]:
    """What `newest` finds for every operation of a job, by its id in lower case; where it finds none is no entry."""
    found: dict[str, list[Stored]] = {}
    for stored in newest_of(ledger):
        record = stored.record
        if same_name(record.job, job) and record.operation is not None:
            found.setdefault(record.operation.casefold(), []).append(stored)
    return {operation: tuple(sorted(of_it, key=_in_line)) for operation, of_it in found.items()}


def _in_line(stored: Stored) -> tuple[int, int, str]:
    return number_of(stored.name), stored.order, stored.name


def heads(found: tuple[Stored, ...]) -> tuple[Stored, ...]:
    """Of these revisions, those that no other one of them names as where it came from.

    A text of before the record is none of them, whatever its number: it may have been taken over later.
    """
    counting = [stored for stored in found if stored.before is None]
    known = [stored.record for stored in counting if isinstance(stored.record, RevisionRecord)]
    sources = {origin.revision for record in known for origin in record.origins}
    return tuple(stored for stored in counting if stored.name not in sources)


def by_name(ledger: Ledger, job: str, operation: str, name: str | None) -> Stored | None:
    """The revision record with this full name, on any branch, or None."""
    return next((r for r in revisions(ledger, job, operation, everywhere=True) if r.name == name), None)


def find_revision(ledger: Ledger, named: NamedRevision, operation: str) -> Stored:
    """The revision a person named, or the newest one if they named none.

    Raises:
        BadCall: ``unknown-revision`` when there is none such, ``ambiguous-revision`` when there are several.
    """
    known = revisions(ledger, named.job, operation)
    if named.revision is None:
        found = heads(known)
    else:
        found = tuple(
            r for r in known if number_of(r.name) == named.revision and _opens(r.name, named.digits)
        )
    if len(found) == 1:
        return found[0]
    spelled = f"{named.job}/{operation}"
    raise _unknown(named, spelled, known) if not found else _ambiguous(spelled, found)


def _unknown(named: NamedRevision, spelled: str, known: tuple[Stored, ...]) -> BadCall:
    if not known or named.revision is None:
        return BadCall(
            "unknown-revision",
            f"{spelled} has no revision yet",
            fix=f'check it in first: proveout checkin {spelled} -m "why"',
        )
    digits = f"-{named.digits}" if named.digits else ""
    listed = ", ".join(label(r.name) for r in known)
    return BadCall(
        "unknown-revision",
        f"{spelled} has no revision r{named.revision}{digits}",
        fix=f"it has {listed}; the newest is meant when none is named",
    )


def _ambiguous(spelled: str, found: tuple[Stored, ...]) -> BadCall:
    listed = " or ".join(f"{spelled}@{short_name(r.name)}" for r in found)
    return BadCall(
        "ambiguous-revision",
        f"{len(found)} revisions stand side by side here: two clones checked in at the same time",
        fix=f"say which: {listed}; the next check-in brings them together",
    )


def short_name(name: str) -> str:
    """``r5-7f3a09c2`` of ``r0005-7f3a09c2``: enough to tell two revisions of one number apart."""
    digits = name.partition("-")[2]
    return label(name) + (f"-{digits}" if digits else "")


def _opens(name: str, digits: str | None) -> bool:
    return digits is None or name.partition("-")[2].lower().startswith(digits)


def newest_of(ledger: Ledger) -> Iterator[Stored]:
    """The newest revisions in hand of every operation, operations in the order they came in."""
    by_operation: dict[tuple[str, str], list[Stored]] = {}
    for stored in ledger.records:
        record = stored.record
        if isinstance(record, RevisionRecord) and stored.in_hand:
            key = ((record.job or "").casefold(), (record.operation or "").casefold())
            by_operation.setdefault(key, []).append(stored)
    for found in by_operation.values():
        yield from heads(tuple(found))
