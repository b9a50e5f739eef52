"""``history --people-on DAY``: who was listed that day, with which roles and keys.

The answer is shop.toml as it was committed by the end of that day, which is what counted then; where the shop.toml of
today says otherwise of somebody (a last day written down later), that is said beside it.
"""

from dataclasses import dataclass
from datetime import date

from tracker.policy.days import end_of_day, zone_of
from tracker.policy.may import not_here
from tracker.policy.shops import is_here, shop_on
from tracker.records.public_keys import key_print
from tracker.records.shop import Person, Shop
from tracker.services.day_said import day_been
from tracker.services.desk import Desk


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One person as shop.toml had him that day.

    ``here``: he counted on it; ``keys``: the opening of each key's SHA-256 as ssh-keygen shows it; ``since_then``: what
    the shop.toml of today says otherwise.
    """

    person: Person
    here: bool
    keys: tuple[str, ...]
    since_then: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PeopleReport:
    """Everybody in the shop.toml of that day; ``commit``: the state that brought it in, None before the first."""

    day: date
    people: tuple[Listed, ...]
    commit: str | None


def people_on(desk: Desk, said: str) -> PeopleReport:
    """Who was listed on a day (``2026-03-20``).

    Raises BadCall (``bad-date``) for no date or one that has not come, and what reading the repository raises.
    """
    ledger = desk.repo.ledger()
    zone = zone_of(ledger.shop)
    day = day_been(said, desk, ledger)
    end = end_of_day(day, zone)
    versions = [version for version in ledger.shops if version.committed <= end]
    if not versions:
        return PeopleReport(day=day, people=(), commit=None)
    newest = max(versions, key=lambda version: version.order)
    people = tuple(_listed(person, day, ledger.shop) for person in shop_on(ledger, end).people)
    return PeopleReport(day=day, people=people, commit=newest.commit)


def _listed(person: Person, day: date, today: Shop) -> Listed:
    here = is_here(person, day)
    now = today.person(person.initials)
    since_then = None
    if now is None:
        since_then = "not in shop.toml any more"
    elif here != is_here(now, day):
        since_then = not_here(now, day) or "listed for that day by the shop.toml of today"
    return Listed(
        person=person, here=here, keys=tuple(key_print(key) for key in person.keys), since_then=since_then
    )
