"""Permissions that do not count for want of a signature, where the shop asks for signatures.

Rules:

1. A record must be signed where the shop.toml its commit follows asks for it. What came in before counts as it did.
2. What only stops use counts unsigned too (`tracker.policy.signed.stops`).
3. A signature is worth what `tracker.policy.signed` says, by the shop.toml before; none but a good one counts. That a person had
   left is told by server and audit, who know the state a push was made on.
4. A line through a permission takes something away and counts; a line through a stop, or through such a line, does not.
"""

from collections.abc import Iterable, Mapping

from tracker.policy.shops import versions_before
from tracker.policy.signed import Worth, needs_signature, signer_of, stops, worth
from tracker.policy.strikes import stops_use
from tracker.records.events import StrikeRecord
from tracker.records.shop import Shop
from tracker.records.stored import Ledger, Stored


def asks_for_signatures(ledger: Ledger) -> bool:
    """Whether any shop.toml of this history asks for signatures: where none does, nothing is looked at."""
    return needs_signature(ledger.shop) or any(needs_signature(version.shop) for version in ledger.shops)


def not_counting(ledger: Ledger, records: Iterable[Stored]) -> Mapping[str, Worth]:
    """The paths of those records that permit something and are not signed as they must be, and what their signature is worth."""
    if not asks_for_signatures(ledger):
        return {}
    states = _States(ledger)
    by_path = {stored.path: stored for stored in ledger.records}
    found: dict[str, Worth] = {}
    for stored in records:
        if stops(stored.record) or _only_takes_away(stored, by_path):
            continue
        value = states.owed(stored)
        if value is not None:
            found[stored.path] = value
    return found


def unsigned(ledger: Ledger, stored: Stored) -> Worth | None:
    """The same of one record: None where it need not be signed, or is."""
    return _States(ledger).owed(stored) if asks_for_signatures(ledger) else None


def signing_shop(ledger: Ledger, stored: Stored) -> tuple[Shop | None, tuple[Shop, ...]]:
    """The shop.toml a record's commit follows, None for the first commit of all, and those before it."""
    return _States(ledger).before(stored)


class _States:
    """The versions of shop.toml before a commit, looked up once for each."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._known: dict[str, tuple[Shop | None, tuple[Shop, ...]]] = {}

    def before(self, stored: Stored) -> tuple[Shop | None, tuple[Shop, ...]]:
        if stored.commit not in self._known:
            self._known[stored.commit] = self._before(stored)
        return self._known[stored.commit]

    def _before(self, stored: Stored) -> tuple[Shop | None, tuple[Shop, ...]]:
        if not self._ledger.shops:  # no history at hand: the shop of the ledger stands for all
            return self._ledger.shop, ()
        versions = [v for v in versions_before(self._ledger, stored) if v.commit != stored.commit]
        states = [version.shop for version in sorted(versions, key=lambda one: one.order)]
        return (states[-1], tuple(states[:-1])) if states else (None, ())

    def owed(self, stored: Stored) -> Worth | None:
        shop, earlier = self.before(stored)
        if shop is None or not needs_signature(shop):
            return None
        value = worth(signer_of(stored.record), self._ledger.sealed(stored), shop, earlier)
        return None if value.good else value


def _only_takes_away(stored: Stored, by_path: Mapping[str, Stored]) -> bool:
    """Whether it is a line through a permission."""
    record = stored.record
    if not isinstance(record, StrikeRecord):
        return False
    target = by_path.get(record.record)
    return target is not None and not isinstance(target.record, StrikeRecord) and not stops_use(target.record)
