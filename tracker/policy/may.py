"""Who may do what, by role and by day.

======================= ==================================================================================
action                  who
======================= ==================================================================================
checkin                 programmer; setup for a text off the control
shop                    quality; anyone while nobody holds that role that day
prove, measured         setup
ran, export, collect,   anyone listed
hold
review                  programmer or quality, not somebody who wrote the revision
countersign             setup or quality, neither the prover nor somebody who wrote the revision
release, lift, withdraw quality
strike                  one's own slip; a rejection, hold or withdrawal only quality
enter                   anyone listed (who types in a text for another; any other record needs the role of both)
======================= ==================================================================================

A person counts from the day ``since`` to the day ``left``, both included, in the shop's time zone.
"""

from collections.abc import Collection
from datetime import date, datetime

from tracker.errors import Refused
from tracker.policy.days import local_date, words, zone_of
from tracker.policy.shops import is_here
from tracker.records.shop import Person, Shop

PROGRAMMER = "programmer"
SETUP = "setup"
QUALITY = "quality"
ROLES: dict[str, tuple[str, ...]] = {
    "checkin": (PROGRAMMER,),
    "prove": (SETUP,),
    "measured": (SETUP,),
    "ran": (),
    "export": (),
    "collect": (),
    "hold": (),
    "review": (PROGRAMMER, QUALITY),
    "countersign": (SETUP, QUALITY),
    "release": (QUALITY,),
    "lift": (QUALITY,),
    "withdraw": (QUALITY,),
    "shop": (QUALITY,),
    "strike": (),
    "enter": (),
}
"""Action -> the roles that may do it; none: anyone listed."""


def may(
    shop: Shop,
    person: Person,
    action: str,
    moment: datetime,
    *,
    off_control: bool = False,
    writers: Collection[str] = (),
    prover: str | None = None,
    made_by: Collection[str] = (),
    stops_use: bool = False,
) -> str | None:
    """None if ``person`` may, else the reason in words.

    ``off_control``: the text came off the control. ``writers``: initials of those who wrote or checked in the
    revision. ``prover``: of the proof to be countersigned. ``made_by``: whose record is to be struck; ``stops_use``:
    it is a rejection, a hold or a withdrawal. Raises KeyError for an unknown action.
    """
    day = local_date(moment, zone_of(shop))
    gone = not_here(person, day)
    if gone is not None:
        return gone
    needed = ROLES[action]
    if action == "checkin" and off_control:
        needed = (PROGRAMMER, SETUP)
    if action == "strike" and stops_use:
        needed = (QUALITY,)
    if action == "shop" and not holders(shop, QUALITY, day):
        needed = ()
    if needed and not set(needed) & set(person.roles):
        return f"{person.initials} has not the role {' or '.join(needed)} that this needs"
    return _barred(person, action, writers, prover, () if stops_use else made_by)


def holders(shop: Shop, role: str, day: date) -> tuple[Person, ...]:
    """Who holds a role on a day."""
    return tuple(person for person in shop.people if role in person.roles and is_here(person, day))


def not_here(person: Person, day: date) -> str | None:
    """Why somebody does not count on a day, in words; None where he does."""
    if is_here(person, day):
        return None
    since, left = person.since, person.left
    why = f"came on {words(since)}" if since and day < since else f"left on {words(left)}" if left else ""
    return f"{person.initials} {why} and is not listed for {words(day)} in shop.toml"


def _barred(
    person: Person, action: str, writers: Collection[str], prover: str | None, made_by: Collection[str]
) -> str | None:
    own = person.initials.casefold()
    wrote = own in {name.casefold() for name in writers}
    if action == "review" and wrote:
        return f"{person.initials} wrote this revision, and nobody reviews what he wrote himself"
    if action == "countersign":
        if prover is not None and own == prover.casefold():
            return f"{person.initials} is the prover; a second person is owed"
        if wrote:
            return f"{person.initials} wrote this revision; a person who did not is owed"
    if action == "strike" and made_by and own not in {name.casefold() for name in made_by}:
        return f"{person.initials} did not make this record; everybody strikes his own slips"
    return None


def require(
    shop: Shop,
    person: Person,
    action: str,
    moment: datetime,
    *,
    off_control: bool = False,
    writers: Collection[str] = (),
    prover: str | None = None,
    made_by: Collection[str] = (),
    stops_use: bool = False,
) -> None:
    """Raise Refused (``wrong-role``) unless `may` allows it; the remedy names who could."""
    facts = {"off_control": off_control, "stops_use": stops_use}
    why = may(shop, person, action, moment, writers=writers, prover=prover, made_by=made_by, **facts)
    if why is None:
        return
    others = [
        other.initials
        for other in shop.people
        if may(shop, other, action, moment, writers=writers, prover=prover, made_by=made_by, **facts) is None
    ]
    fix = f"ask one of: {', '.join(others)}" if others else "nobody listed may; put the role into shop.toml"
    raise Refused("wrong-role", why, fix=fix)
