"""Prove-outs that were begun and not finished: kept, shown, and taken up again."""

from tracker.policy.find import struck
from tracker.policy.groups import same_machine
from tracker.policy.steps import tool_key
from tracker.records.events import ProofRecord
from tracker.records.shop import Machine
from tracker.records.stored import Stored
from tracker.services.prove_steps import UNFINISHED
from tracker.services.target import Target


def begun_before(
    found: Target, machine: Machine, *, tools: tuple[str, ...] = (), again: bool = False
) -> Stored | None:
    """The last unfinished prove-out of this text there, of the same sort, that no later proof has closed."""
    gone = struck(found.ledger)
    latest: Stored | None = None
    for stored in found.ledger.records:
        record = stored.record
        if (
            isinstance(record, ProofRecord)
            and stored.in_hand
            and stored.path not in gone
            and same_machine(record.machine, machine.id)
            and record.operation_fingerprint == found.record.operation_fingerprint
            and {tool_key(tool) for tool in record.tools} == {tool_key(tool) for tool in tools}
            and record.again == again
            and (latest is None or found.ledger.later(stored, latest))
        ):
            latest = stored
    if latest is None or not isinstance(latest.record, ProofRecord):
        return None
    return latest if latest.record.result == UNFINISHED else None
