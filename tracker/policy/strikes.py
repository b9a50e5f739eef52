"""Records with a line through them: still legible, no longer counting.

Rules:

1. A revision or a release is never struck.
2. One strikes one's own slip: a record one made or entered.
3. A rejection, a hold or a withdrawal is struck by quality only, whoever made it.
4. A strike comes after what it strikes, and may be struck itself.
5. A strike on another branch counts against permission at once; what stops use is struck there only if it is not in
   hand here either.

A strike that breaks a rule does nothing; the audit lists it.
"""

from tracker.policy.shops import had_role
from tracker.records.events import (
    AnyRecord,
    HoldRecord,
    MeasuredRecord,
    ProofRecord,
    ReleaseRecord,
    RevisionRecord,
    StrikeRecord,
    WithdrawRecord,
)
from tracker.records.stored import Ledger, Stored


def stops_use(record: AnyRecord) -> bool:
    """Whether a record is a rejection, a hold or a withdrawal."""
    if isinstance(record, ProofRecord):
        first = record.first_piece
        return record.result == "rejected" or (first is not None and first.result == "rejected")
    if isinstance(record, MeasuredRecord):
        return record.result == "rejected"
    return isinstance(record, HoldRecord | WithdrawRecord)


def struck(ledger: Ledger) -> frozenset[str]:
    """The paths of all records that are struck."""
    by_path = {stored.path: stored for stored in ledger.records}
    strikes = [stored for stored in ledger.records if isinstance(stored.record, StrikeRecord)]
    done: set[str] = set()
    # the latest strike first: it may strike another strike, never the other way round
    for strike in sorted(strikes, key=lambda stored: (stored.order, stored.record.entered), reverse=True):
        target = by_path.get(_target(strike))
        if strike.path not in done and target is not None and strikes_validly(ledger, strike, target):
            done.add(target.path)
    return frozenset(done)


def strikes_validly(ledger: Ledger, strike: Stored, target: Stored) -> bool:
    """Whether a strike record obeys the rules above for the record it names."""
    record = target.record
    if isinstance(record, RevisionRecord | ReleaseRecord) or not ledger.later(strike, target):
        return False
    by = strike.record.by.casefold()
    if stops_use(record):
        quality = had_role(ledger, strike, by, "quality")
        return quality and (strike.in_hand or not target.in_hand)
    return by in {record.by.casefold(), (record.entered_by or record.by).casefold()}


def _target(strike: Stored) -> str:
    return strike.record.record if isinstance(strike.record, StrikeRecord) else ""
