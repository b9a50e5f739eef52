"""Dates as people in the shop read them: ``20 Mar 2026``, local time with its offset."""

from datetime import UTC, datetime, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

# English names on purpose: strftime's %b follows the locale of the PC, a record's screen must not
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def zone(name: str) -> tzinfo:
    """The shop's time zone; UTC where this PC does not know it."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return UTC


def day(moment: datetime, tz: tzinfo) -> str:
    """``20 Mar 2026``."""
    local = moment.astimezone(tz)
    return f"{local.day} {_MONTHS[local.month - 1]} {local.year}"


def short_day(moment: datetime, tz: tzinfo) -> str:
    """``20 Mar``, where the year is plain."""
    local = moment.astimezone(tz)
    return f"{local.day} {_MONTHS[local.month - 1]}"


def moment(at: datetime, tz: tzinfo) -> str:
    """``20 Mar 2026 13:00 +00:00``."""
    local = at.astimezone(tz)
    offset = local.strftime("%z")
    return f"{day(at, tz)} {local:%H:%M} {offset[:3]}:{offset[3:5]}"
