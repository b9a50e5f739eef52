"""The proofs of a revision's code on one machine, the latest first."""

from collections.abc import Iterator

from tracker.policy.find import struck
from tracker.policy.groups import same_machine
from tracker.records.events import ProofRecord
from tracker.records.shop import Machine
from tracker.records.stored import Stored
from tracker.services.target import Target


def proofs_on(found: Target, machine: Machine) -> list[tuple[Stored, ProofRecord]]:
    """Proofs in hand of this very revision or of the same code there, none that is struck."""
    chosen = list(_proofs(found, machine))
    ordered: list[tuple[Stored, ProofRecord]] = []
    for pair in chosen:
        place = next((n for n, other in enumerate(ordered) if found.ledger.later(pair[0], other[0])), None)
        ordered.insert(len(ordered) if place is None else place, pair)
    return ordered


def _proofs(found: Target, machine: Machine) -> Iterator[tuple[Stored, ProofRecord]]:
    gone = struck(found.ledger)
    for stored in found.ledger.records:
        record = stored.record
        if (
            isinstance(record, ProofRecord)
            and stored.in_hand
            and stored.path not in gone
            and same_machine(record.machine, machine.id)
            and _of_this(record, found)
        ):
            yield stored, record


def _of_this(record: ProofRecord, found: Target) -> bool:
    same_job = (record.job, record.operation) == (found.record.job, found.record.operation)
    return same_job and (
        record.revision == found.stored.name
        or record.operation_fingerprint == found.record.operation_fingerprint
    )
