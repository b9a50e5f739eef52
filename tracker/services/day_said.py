"""A day as a person types it: ``2026-03-20``."""

from datetime import date

from tracker.errors import BadCall
from tracker.policy.days import local_date, zone_of
from tracker.records.stored import Ledger
from tracker.services.desk import Desk


def day_said(text: str) -> date:
    """The day; raises BadCall (``bad-date``) for no date."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError as fault:
        raise BadCall("bad-date", f"{text!r} is no date", fix="write it like 2026-03-20") from fault


def day_been(text: str, desk: Desk, ledger: Ledger) -> date:
    """The day; raises BadCall (``bad-date``) for no date, or one that has not come in the shop."""
    day = day_said(text)
    if day > local_date(desk.clock.now(), zone_of(ledger.shop)):
        raise BadCall("bad-date", f"{text} has not come yet", fix="name a day that has been, or today")
    return day
