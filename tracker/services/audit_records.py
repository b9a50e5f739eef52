"""Whether records are what they were when they were made, and where they belong."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from tracker.policy.find import same_name
from tracker.records.events import RevisionRecord
from tracker.records.names import revision_name, revision_number
from tracker.records.places import operation_of_record
from tracker.records.stored import Ledger, Stored
from tracker.services.ports_audit import CommitSeen, Evidence
from tracker.services.problem import REFUSE, WARN, Problem

_DIGITS = 8


def audit_records(ledger: Ledger, evidence: Evidence, commits: Sequence[CommitSeen]) -> Iterator[Problem]:
    """Everything about records that does not hold."""
    yield from _touched(evidence, {seen.commit: seen.committed for seen in commits})
    for unreadable in ledger.unreadable:
        yield Problem(
            problem="unreadable-record", severity=REFUSE, where=unreadable.path, message=unreadable.why
        )
    known = {
        (_low(stored.record.job), _low(stored.record.operation), stored.name)
        for stored in ledger.records
        if isinstance(stored.record, RevisionRecord)
    }
    for stored in ledger.records:
        yield from _name(stored)
        yield from _place(stored)
        yield from _revision(stored, known)


def _touched(evidence: Evidence, dates: dict[str, datetime]) -> Iterable[Problem]:
    for one in evidence.record_changes():
        at = dates.get(one.commit)
        when = f"{one.commit[:12]}" + (f", {at:%Y-%m-%d}" if at else "")
        deleted = one.status == "D"
        what = "taken away" if deleted else "changed after it was made"
        yield Problem(
            problem="record-deleted" if deleted else "record-changed",
            severity=REFUSE,
            where=one.path,
            message=f"the record was {what} ({when}); what it said before still counts",
        )


def _name(stored: Stored) -> Iterable[Problem]:
    record = stored.record
    if not isinstance(record, RevisionRecord):
        return
    number = revision_number(stored.name)
    digits = stored.name.partition("-")[2]
    if number is None or record.revision != revision_name(number):
        message = f"the record says it is {record.revision}, its name says {stored.name}"
    elif digits != stored.sha256[:_DIGITS]:
        message = f"the name should end in {stored.sha256[:_DIGITS]}: these are not the bytes it was made of"
    else:
        return
    yield Problem(problem="wrong-digits", severity=REFUSE, where=stored.path, message=message)


def _place(stored: Stored) -> Iterable[Problem]:
    folder = operation_of_record(stored.path)
    operation = stored.record.operation
    if folder is None or operation is None or same_name(folder, operation):
        return
    yield Problem(
        problem="misplaced-record",
        severity=REFUSE,
        where=stored.path,
        message=f"the record speaks of {operation} and lies in the folder of {folder}",
    )


def _revision(stored: Stored, known: set[tuple[str, str, str]]) -> Iterable[Problem]:
    record = stored.record
    if isinstance(record, RevisionRecord) or record.revision is None:
        return
    if (_low(record.job), _low(record.operation), record.revision) not in known:
        yield Problem(
            problem="revision-missing",
            severity=WARN,
            where=stored.path,
            message=f"the record speaks of {record.revision}, and there is no such revision here",
        )


def _low(text: str | None) -> str:
    return (text or "").casefold()
