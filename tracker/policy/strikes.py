"""Records with a line through them: still legible, no longer counting.

Rules:

1. A revision or a release is never struck.
2. One strikes one's own slip: a record one made or entered.
3. A rejection, a hold or a withdrawal is struck by quality only, whoever made it.
4. A strike comes after what it strikes, and may be struck itself.
5. A strike on another branch counts at once where it takes permission away. What frees for use (striking a stop, or
   the strike of a permission) counts there only if what it strikes is not in hand here either.

A strike that breaks a rule does nothing; the audit lists it.
"""

from collections.abc import Mapping

from tracker.policy.shops import hands_had_role
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
    # a strike of a strike before the one it strikes, however their branches lie in line
    for strike in sorted(strikes, key=lambda stored: -_struck_at_last(by_path, stored)[1]):
        target = by_path.get(_target(strike))
        if strike.path not in done and target is not None and strikes_validly(ledger, strike, target):
            done.add(target.path)
    return frozenset(done)


def strikes_validly(ledger: Ledger, strike: Stored, target: Stored) -> bool:
    """Whether a strike record obeys the rules above for the record it names."""
    record = target.record
    if isinstance(record, RevisionRecord | ReleaseRecord) or not ledger.later(strike, target):
        return False
    if not strike.in_hand and target.in_hand and _frees(ledger, target):
        return False
    by = strike.record.by.casefold()
    if stops_use(record):
        return hands_had_role(ledger, strike, "quality")
    return by in {record.by.casefold(), (record.entered_by or record.by).casefold()}


def _frees(ledger: Ledger, target: Stored) -> bool:
    """Whether striking a record can only make more usable: a stop, or what took a permission away."""
    if not isinstance(target.record, StrikeRecord):
        return stops_use(target.record)
    by_path = {stored.path: stored for stored in ledger.records}
    last, strikes = _struck_at_last(by_path, target)
    stop = last is not None and stops_use(last.record)
    return stop == (strikes % 2 == 0)


def _struck_at_last(by_path: Mapping[str, Stored], stored: Stored) -> tuple[Stored | None, int]:
    """What a strike of a strike of ... strikes in the end, None if it is not there, and how many strikes that are."""
    seen: set[str] = set()
    here: Stored | None = stored
    while here is not None and isinstance(here.record, StrikeRecord):
        if here.path in seen:
            return None, len(seen)
        seen.add(here.path)
        here = by_path.get(_target(here))
    return here, len(seen)


def _target(strike: Stored) -> str:
    return strike.record.record if isinstance(strike.record, StrikeRecord) else ""
