"""What a release says of itself besides: what it leaves out, and that the one before it holds the same."""

from collections.abc import Iterator

from tracker.policy.find import same_name
from tracker.policy.release_rules import Decision
from tracker.records.events import ReleaseRecord
from tracker.records.stored import Ledger


def not_included(decision: Decision) -> tuple[tuple[str, str], ...]:
    """Alternatives that do not stand, and machines an operation does not stand on."""
    found = [
        (one.facts.operation, "; ".join(reason.words for reason in one.reasons)) for one in decision.left_out
    ]
    found += [
        (one.facts.operation, f"not on {name}: {standing.reason}")
        for one in decision.included
        for name, standing in one.others
    ]
    return tuple(found)


def same_as(ledger: Ledger, made: ReleaseRecord) -> Iterator[str]:
    """A note, where the latest release before holds the very revisions for the same machines."""
    records = (one.record for one in ledger.records)
    before = [
        one
        for one in records
        if isinstance(one, ReleaseRecord) and same_name(one.job, made.job or "") and one.number < made.number
    ]
    last = max(before, key=lambda one: one.number, default=None)
    if last is not None and _held(last) == _held(made):
        yield f"it holds the very revisions release {last.number} holds, for the same machines"


def _held(record: ReleaseRecord) -> set[tuple[str, str, tuple[str, ...]]]:
    return {(one.operation, one.revision, one.machines) for one in record.operations}
