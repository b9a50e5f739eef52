"""The shop as it was: whose word counted when a record came in, and the policy of a day.

Authority for a record is taken from shop.toml as it stood where the record came into the history; the policy of a
day is that of the last version committed by its end. With no history at hand the shop of the ledger stands for all.
"""

from datetime import date, datetime

from tracker.policy.days import local_date, zone_of
from tracker.records.shop import Machine, Person, Shop
from tracker.records.stored import Ledger, ShopVersion, Stored


def shop_on(ledger: Ledger, moment: datetime) -> Shop:
    """shop.toml as last committed by ``moment``; before the first version, the first."""
    by_then = [version for version in ledger.shops if version.committed <= moment]
    return _latest(ledger, by_then)


def shop_at(ledger: Ledger, stored: Stored) -> Shop:
    """shop.toml as it stood where a record came in; for a record older than the first version, the first."""
    return _latest(ledger, versions_before(ledger, stored))


def versions_before(ledger: Ledger, stored: Stored) -> list[ShopVersion]:
    """The versions a record came in under: those its commit descends from.

    What another clone had changed by then does not count, wherever its commit lies in line. With no history at hand,
    those that lie before it in line.
    """
    in_line = [version for version in ledger.shops if version.order <= stored.order]
    return [v for v in in_line if ledger.descends(stored.commit, v.commit)] or in_line


def _latest(ledger: Ledger, versions: list[ShopVersion]) -> Shop:
    if versions:
        return max(versions, key=lambda version: version.order).shop
    if ledger.shops:
        return min(ledger.shops, key=lambda version: version.order).shop
    return ledger.shop


def is_here(person: Person, day: date) -> bool:
    """Whether a person is listed for that day: ``since`` is the first, ``left`` the last."""
    return (person.since is None or person.since <= day) and (person.left is None or day <= person.left)


def was_listed(ledger: Ledger, stored: Stored, initials: str) -> bool:
    """Whether somebody was listed where and when a record was entered, whatever the roles."""
    return _listed(ledger, stored, initials) is not None


def had_role(ledger: Ledger, stored: Stored, initials: str, *roles: str) -> bool:
    """Whether somebody held one of ``roles`` where and when a record was entered."""
    person = _listed(ledger, stored, initials)
    return person is not None and bool(set(person.roles) & set(roles))


def hands_had_role(ledger: Ledger, stored: Stored, *roles: str) -> bool:
    """Whether who made a record held one of ``roles`` then, and so did who entered it for him.

    Who sits at the keyboard is the one whose key and address a record carries: a name in ``by`` alone vouches for nobody.
    """
    record = stored.record
    return all(had_role(ledger, stored, name, *roles) for name in {record.by, record.entered_by or record.by})


def _listed(ledger: Ledger, stored: Stored, initials: str) -> Person | None:
    shop = shop_at(ledger, stored)
    person = shop.person(initials)
    here = person is not None and is_here(person, local_date(stored.record.entered, zone_of(shop)))
    return person if here else None


def machine_now(shop: Shop, machine: Machine) -> Machine:
    """The machine as the shop of that day describes it, else as handed in."""
    return shop.machine(machine.id) or machine
