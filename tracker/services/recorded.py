"""Finding a recorded revision a person named, whether or not its job is still in the tree in hand."""

from dataclasses import dataclass

from tracker.errors import BadCall
from tracker.policy.find import find_revision, same_name
from tracker.records.events import RevisionRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk
from tracker.services.locate import locate
from tracker.services.naming import Named


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """The ledger it was found in, and the record."""

    ledger: Ledger
    stored: Stored
    job: str
    operation: str


def recorded(desk: Desk, named: Named, ledger: Ledger | None = None) -> Recorded:
    """The revision ``named`` means; without a number the newest.

    Raises BadCall (``unknown-job``, ``unknown-operation``, ``which-operation``, ``unknown-revision``,
    ``ambiguous-revision``).
    """
    ledger = ledger or desk.repo.ledger()
    job, operation = names(desk, named, ledger)
    wanted = Named(job=job, operation=operation, revision=named.revision, digits=named.digits)
    return Recorded(
        ledger=ledger, stored=find_revision(ledger, wanted, operation), job=job, operation=operation
    )


def names(desk: Desk, named: Named, ledger: Ledger) -> tuple[str, str]:
    """Job number and operation id as written in the job.toml of the tree in hand, else as in the records."""
    try:
        _, job, operation = locate(desk.repo.tree(), named)
    except BadCall:
        found = _in_records(ledger, named)
        if found is None:
            raise
        return found
    return job.number, operation.id


def _in_records(ledger: Ledger, named: Named) -> tuple[str, str] | None:
    """The one operation of the records that answers to the name."""
    found = {
        (record.job or "", record.operation or "")
        for stored in ledger.records
        if isinstance(record := stored.record, RevisionRecord)
        and same_name(record.job, named.job)
        and (named.operation is None or same_name(record.operation, named.operation))
    }
    return found.pop() if len(found) == 1 else None
