"""What every use case is handed: a repository, a clock, and whose desk it is."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import TypedDict

from tracker.clock import Clock
from tracker.errors import BadCall, Refused
from tracker.policy.days import local_date, zone_of
from tracker.policy.may import not_here
from tracker.records.shop import Person, Shop
from tracker.services.ports import Repository
from tracker.services.ports_kept import KeptAnswers
from tracker.services.ports_sign import Signer, Verify


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """The place somebody acts from.

    ``email`` is the e-mail address git knows this person by, None on a PC marked shared or without one: it stands
    for a person only if exactly one person of shop.toml who is listed that day has it. ``machine``: the machine this PC
    stands at, None where none was said. ``signer``: gives what signs here, None where nothing does; ``verify``
    verifies the signature of a record, None where there are none. ``last_share``: tells when the clone last shared
    (None: never), None where nothing can tell. ``kept``: answers of before, for verbs that only show something; None: all
    is worked out.
    """

    repo: Repository
    clock: Clock
    email: str | None = None
    machine: str | None = None
    signer: Callable[[], Signer] | None = None
    verify: Verify | None = None
    last_share: Callable[[], datetime | None] | None = None
    kept: KeptAnswers | None = None


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
    found = whose(desk, shop)
    if isinstance(found, str):
        raise BadCall("who", "who is doing this?", fix="say it with --by INITIALS", reasons=(found,))
    return found


def whose(desk: Desk, shop: Shop) -> Person | str:
    """The person this PC stands for today by git's e-mail address, or why it stands for none, in words."""
    if not desk.email or not desk.email.strip():
        return "this PC stands for nobody: it is shared, or git knows no e-mail address here"
    address = desk.email.strip().casefold()
    same = [person for person in shop.people if person.email.strip().casefold() == address]
    if not same:
        return f"nobody in shop.toml has git's e-mail address here, {desk.email.strip()}"
    today = local_date(desk.clock.now(), zone_of(shop))
    here = [person for person in same if not_here(person, today) is None]
    if not here:
        return "; ".join(filter(None, (not_here(person, today) for person in same)))
    if len(here) > 1:
        return f"{' and '.join(person.initials for person in here)} have one e-mail address, {address}"
    return here[0]


def has_been(desk: Desk, at: datetime | None) -> None:
    """Raise BadCall (``future-time``) for a time claimed that is still to come."""
    if at is not None and at > desk.clock.now():
        raise BadCall("future-time", "that time has not come yet", fix="leave --at out, or put it right")


def opening(
    desk: Desk, by: Person, *, entered_by: Person | None = None, at: datetime | None = None
) -> Opening:
    """When and by whom: ``at`` as claimed (default: now), ``entered`` by the clock.

    Raises BadCall (``future-time``), and Refused (``wrong-role``) for somebody who was not listed on the day claimed,
    or who enters it and is not listed today.
    """
    has_been(desk, at)
    now = desk.clock.now()
    zone = zone_of(desk.repo.tree().shop()) if at is not None or entered_by is not None else None
    for person, moment in ((by, at), (entered_by, now)):
        why = not_here(person, local_date(moment, zone)) if person and moment and zone else None
        if why is not None:
            raise Refused(
                "wrong-role", why, fix="name who it was, or put `since` and `left` in shop.toml right"
            )
    return Opening(
        at=at or now,
        entered=now,
        by=by.initials,
        entered_by=entered_by.initials if entered_by and entered_by.initials != by.initials else None,
        clock="set" if desk.clock.is_set else None,
    )
