"""A PC's clock that is behind the record: what stands "today" is then judged of a day that is over."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from tracker.policy.days import words, zone_of
from tracker.records.stored import Ledger

_MOST = timedelta(days=1)
"""Clocks of a shop's PCs differ by less."""


def clock_behind(ledger: Ledger, now: datetime) -> Iterator[str]:
    """A sentence where records were entered later than this PC's clock believes it is; nothing else."""
    newest = max((stored.record.entered for stored in ledger.records), default=now)
    if newest - now > _MOST:
        zone = zone_of(ledger.shop)
        yield (
            f"this PC's clock says {words(now.astimezone(zone).date())}, and there are records of "
            f"{words(newest.astimezone(zone).date())}: if the clock is wrong, set it right and do this again"
        )
