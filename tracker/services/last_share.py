"""How old the last share is, in words: holds and withdrawals of others may have come to pass since."""

from datetime import UTC, datetime, tzinfo

from tracker.errors import ProveoutError
from tracker.frozen import dataclass
from tracker.policy.days import local_date, zone_of
from tracker.policy.spelled import counted
from tracker.services.desk import Desk

NEVER = "last share: never: on this disk only"


@dataclass(frozen=True, slots=True, kw_only=True)
class LastShare:
    """When something last came from a shared repository or went to one (None: never), and that in words."""

    at: datetime | None
    words: str


def last_share_of(desk: Desk) -> LastShare | None:
    """The last share of the clone in hand; None where the desk has no clone that could tell."""
    if desk.last_share is None:
        return None
    at = desk.last_share()
    return LastShare(at=at, words=share_words(at, desk.clock.now(), shop_zone(desk)))


def share_words(at: datetime | None, now: datetime, zone: tzinfo) -> str:
    """``last share: 3 days ago``; days are those of the shop, and a clock that was set back makes none of them negative."""
    if at is None:
        return NEVER
    days = max(0, (local_date(now, zone) - local_date(at, zone)).days)
    said = ("today", "yesterday")[days] if days < 2 else f"{counted(days, 'day')} ago"
    return f"last share: {said}"


def shop_zone(desk: Desk) -> tzinfo:
    """The shop's time zone; UTC where shop.toml cannot be read, which others say."""
    try:
        return zone_of(desk.repo.tree().shop())
    except ProveoutError:
        return UTC
