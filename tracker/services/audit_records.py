"""Whether records are what they were when they were made, and where they belong."""

from collections.abc import Iterable, Iterator

from tracker.records.events import RevisionRecord
from tracker.records.names import revision_name, revision_number
from tracker.records.stored import Ledger, Stored
from tracker.services.problem import REFUSE, WARN, Problem

_DIGITS = 8


def audit_records(ledger: Ledger) -> Iterator[Problem]:
    """Everything about records as they are now that does not hold; their history: `tracker.services.audit_commits`."""
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
        yield from _revision(stored, known)


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
