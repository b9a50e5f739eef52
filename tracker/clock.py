"""Time as the tool uses it: aware, UTC, whole seconds, and always handed in.

Records hold UTC (``2026-03-11T09:15:02Z``); screens show the shop's local time. Nothing below ``cli`` asks the
operating system for the time: a `Clock` is passed.
"""

from collections.abc import Callable
from datetime import UTC, datetime

from tracker.frozen import dataclass
from tracker.typed import Protocol


class Clock(Protocol):
    """Says what time it is."""

    @property
    def is_set(self) -> bool:
        """True when a person set the time (demos, tests); records then carry ``clock = "set"``."""

    def now(self) -> datetime:
        """The present as an aware UTC datetime without fractions of a second."""


@dataclass(frozen=True, slots=True)
class SystemClock:
    """The clock of this computer."""

    source: Callable[[], datetime] = lambda: datetime.now(UTC)

    @property
    def is_set(self) -> bool:
        """Never set by hand."""
        return False

    def now(self) -> datetime:
        """The present, UTC, whole seconds."""
        return whole_second(self.source())


@dataclass(frozen=True, slots=True)
class SetClock:
    """A clock that stands where it was put."""

    at: datetime

    @property
    def is_set(self) -> bool:
        """Set by hand."""
        return True

    def now(self) -> datetime:
        """The time it was put to, UTC, whole seconds."""
        return whole_second(self.at)


def whole_second(moment: datetime) -> datetime:
    """``moment`` in UTC without fractions; raises ValueError for a time without a zone."""
    if moment.tzinfo is None:
        raise ValueError("a time without a zone says nothing; write it with Z or an offset")
    return moment.astimezone(UTC).replace(microsecond=0)


def parse_time(text: str) -> datetime:
    """An RFC 3339 time as aware UTC datetime; raises ValueError if it is none or has no zone.

    Lower-case ``t`` and ``z`` are allowed (RFC 3339 section 5.6); a leap second (``:60``) is a ValueError.
    """
    return whole_second(datetime.fromisoformat(text.strip().upper()))


def utc_text(moment: datetime) -> str:
    """``2026-03-11T09:15:02Z``, the form of every time in a record."""
    return whole_second(moment).strftime("%Y-%m-%dT%H:%M:%SZ")


def file_stamp(moment: datetime) -> str:
    """``20260311T091502Z``, the form of a time in a record's file name."""
    return whole_second(moment).strftime("%Y%m%dT%H%M%SZ")
