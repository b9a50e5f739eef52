"""Days as the shop counts them: local dates, their ends, and when something lapses.

Rules: a date means its end in the shop's time zone; months are counted to the same day of the month, or to the
month's last day where it has none (29 February becomes 28 February); a claimed time later than the time of entry is
not believed beyond the entry.
"""

from datetime import UTC, date, datetime, time, timedelta, tzinfo
from zoneinfo import ZoneInfo

from tracker.records.events import Record, RevisionRecord
from tracker.records.shop import Shop

# English names on purpose: strftime's %b follows the locale of the PC, the words of a reason must not
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
LATE = timedelta(hours=48)
"""Claimed and entered further apart than this reads "entered late"."""


def zone_of(shop: Shop) -> tzinfo:
    """The shop's time zone; UTC where this PC does not know it."""
    try:
        return ZoneInfo(shop.timezone)
    except (KeyError, ValueError, OSError):
        return UTC


def local_date(moment: datetime, zone: tzinfo) -> date:
    """The date a moment falls on in the shop."""
    return moment.astimezone(zone).date()


def end_of_day(day: date, zone: tzinfo) -> datetime:
    """The last whole second of a date in the shop, in UTC."""
    midnight = datetime.combine(day + timedelta(days=1), time.min, tzinfo=zone)
    return (midnight.astimezone(UTC) - timedelta(seconds=1)).replace(microsecond=0)


def happened_on(record: Record, zone: tzinfo) -> date:
    """The day a record claims, never later than the day it was entered."""
    return local_date(min(record.at, record.entered), zone)


def entered_late(record: Record) -> bool:
    """Whether claimed and entered time lie more than 48 hours apart.

    A text of before the record is not late: it says itself that its time is that of an old commit.
    """
    if isinstance(record, RevisionRecord) and record.before is not None:
        return False
    return abs(record.entered - record.at) > LATE


def add_months(day: date, months: int) -> date:
    """The same day of the month ``months`` later, or that month's last day."""
    index = day.year * 12 + day.month - 1 + months
    year, month = divmod(index, 12)
    return date(year, month + 1, min(day.day, _days_in(year, month + 1)))


def _days_in(year: int, month: int) -> int:
    """28 to 31; December never changes, so its next month need not be looked at."""
    return 31 if month == 12 else (date(year, month + 1, 1) - timedelta(days=1)).day


def lapse_day(last: date, months: int) -> date | None:
    """The first day on which what was last run or proved on ``last`` has lapsed; None: never (0 months)."""
    return add_months(last, months) if months > 0 else None


def words(day: date) -> str:
    """``20 Mar 2026``."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"
