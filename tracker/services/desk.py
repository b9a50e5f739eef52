"""What every use case is handed: a repository, a clock, and whose desk it is."""

from dataclasses import dataclass
from datetime import datetime
from typing import TypedDict

from tracker.clock import Clock
from tracker.errors import BadCall
from tracker.records.shop import Person, Shop
from tracker.services.ports import Repository


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """The place somebody acts from.

    ``email`` is the e-mail address git knows this person by, None on a PC marked shared or without one: it stands
    for a person only if exactly one person of shop.toml has it.
    """

    repo: Repository
    clock: Clock
    email: str | None = None


class Opening(TypedDict):
    """The fields that say when and by whom, for the constructor of any record."""

    at: datetime
    entered: datetime
    by: str
    entered_by: str | None
    clock: str | None


def acting(desk: Desk, shop: Shop, by: str | None) -> Person:
    """The person who acts; raises BadCall (``who``, ``unknown-person``) when that cannot be told."""
    if by is not None:
        person = shop.person(by)
        if person is None:
            known = ", ".join(p.initials for p in shop.people) or "nobody"
            raise BadCall(
                "unknown-person",
                f"nobody in shop.toml has the initials {by!r}",
                fix=f"use one of: {known}; or add the person to shop.toml",
            )
        return person
    same = [p for p in shop.people if desk.email and p.email.lower() == desk.email.lower()]
    if len(same) != 1:
        raise BadCall("who", "who is doing this?", fix="say it with --by INITIALS")
    return same[0]


def opening(
    desk: Desk, by: Person, *, entered_by: Person | None = None, at: datetime | None = None
) -> Opening:
    """When and by whom: ``at`` as claimed (default: now), ``entered`` by the clock."""
    now = desk.clock.now()
    return Opening(
        at=at or now,
        entered=now,
        by=by.initials,
        entered_by=entered_by.initials if entered_by and entered_by.initials != by.initials else None,
        clock="set" if desk.clock.is_set else None,
    )
