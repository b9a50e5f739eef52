"""When a proof made on one machine counts on another: by its group, without a break.

Rules:

1. A proof counts on the machine it was made on.
2. It counts on another machine when both were in the group the proof's machine was in, at the proof and in every
   version of shop.toml since, up to the day.
3. The other machine reads a program the same way: type, units and decimal setting are those in the proof's profile.
   A group that mixes them is a slip of whoever wrote shop.toml, and is not believed.
"""

from collections.abc import Mapping

from tracker.policy.book import Book, Entry
from tracker.policy.days import end_of_day
from tracker.policy.shops import versions_before
from tracker.records.events import ProofRecord
from tracker.records.shop import Machine, Shop
from tracker.records.stored import Stored

OWN = "own"
GROUP = "group"
_READS_ALIKE = ("type", "units", "decimal")


def counts_on(book: Book, proof: Entry[ProofRecord], machine: Machine) -> str | None:
    """`OWN` or `GROUP` when a proof counts on ``machine`` by where it was made, else None."""
    if same_machine(proof.record.machine, machine.id):
        return OWN
    return GROUP if _group_unbroken(book, proof, machine) else None


def same_machine(a: str, b: str) -> bool:
    """Whether two ids name one machine."""
    return a.casefold() == b.casefold()


def _group_unbroken(book: Book, proof: Entry[ProofRecord], machine: Machine) -> bool:
    shops = _shops_since(book, proof.stored)
    profile = proof.record.machine_profile
    made_on = shops[0].machine(proof.record.machine)
    group = profile.get("group", made_on.group if made_on else None)
    if not isinstance(group, str) or not group:
        return False
    together = all(
        _in_group(shop, proof.record.machine, group) and _in_group(shop, machine.id, group) for shop in shops
    )
    return together and _reads_alike(book.shop.machine(machine.id), profile)


def _shops_since(book: Book, proof: Stored) -> list[Shop]:
    """shop.toml as it stood at the proof, and every version from then to the day."""
    end = end_of_day(book.day, book.zone)
    versions = sorted(
        (version for version in book.ledger.shops if version.committed <= end), key=lambda v: v.order
    )
    before = {version.order for version in versions_before(book.ledger, proof)}
    at_proof = [version for version in versions if version.order in before][-1:]
    since = [version for version in versions if version.order not in before]
    shops = [version.shop for version in (*at_proof, *since)]
    return shops or [book.shop]


def _in_group(shop: Shop, machine_id: str, group: str) -> bool:
    machine = shop.machine(machine_id)
    return machine is not None and machine.group is not None and machine.group == group


def _reads_alike(machine: Machine | None, profile: Mapping[str, object]) -> bool:
    """Rule 3; a value the profile does not hold is not compared."""
    return machine is not None and all(
        profile.get(key) in (None, getattr(machine, key)) for key in _READS_ALIKE
    )
