"""Which sticks carry texts that are recalled, by what the records say.

A recall covers code, so every revision with one of its fingerprints counts, whichever export wrote it or collect saw it.
What was taken off since, replaced by another text or missing when the stick came home is told apart: the stick is clean,
and the control it went to may still hold it.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime

from tracker.policy.days import words
from tracker.policy.find import same_name
from tracker.records.events import OnStick, RevisionRecord
from tracker.records.stored import Ledger
from tracker.services.on_sticks import Copy, copies
from tracker.services.stick_view import lost_since, owner_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Carrier:
    """One stick as it went to one machine: ``files`` still lie there by the records, ``gone`` do not any more."""

    stick: str
    machine: str
    owner: str | None
    lost: date | None = None
    files: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()

    @property
    def spelled(self) -> str:
        """``BLUE-1 (MILL2), owner kp, lost 3 Mar 2026``; without the machine where nobody can tell which."""
        place = f" ({self.machine})" if self.machine else ""
        more = f", owner {self.owner}" if self.owner else ""
        return f"{self.stick}{place}{more}" + (f", lost {words(self.lost)}" if self.lost else "")


def carriers(ledger: Ledger, job: str, fingerprints: Collection[str], now: datetime) -> tuple[Carrier, ...]:
    """The sticks that operations of ``job`` with one of these fingerprints were written to or seen on, by name."""
    covered = {
        (stored.name, (stored.record.operation or "").casefold())
        for stored in ledger.records
        if isinstance(stored.record, RevisionRecord)
        and same_name(stored.record.job, job)
        and stored.record.operation_fingerprint in fingerprints
    }

    def recalled(file: OnStick) -> bool:
        return same_name(file.job, job) and (file.revision, (file.operation or "").casefold()) in covered

    # one that is there stands before a later one that is not: of two PCs' records the later may know nothing of it
    mine = sorted((copy for copy in copies(ledger) if recalled(copy.file)), key=lambda copy: copy.there)
    last = {(copy.stick.casefold(), copy.path.casefold()): copy for copy in mine}
    return _by_stick(ledger, list(last.values()), now)


def _by_stick(ledger: Ledger, every: list[Copy], now: datetime) -> tuple[Carrier, ...]:
    """One carrier for each stick and machine, whatever letters a record spells it in."""
    found: dict[tuple[str, str], list[Copy]] = {}
    for copy in every:
        found.setdefault((copy.stick.casefold(), copy.machine.casefold()), []).append(copy)
    return tuple(
        Carrier(
            stick=mine[-1].stick,
            machine=mine[-1].machine,
            owner=owner_of(ledger.shop, mine[-1].stick, now),
            lost=lost_since(ledger.shop, mine[-1].stick, now),
            files=tuple(sorted(one.path for one in mine if one.there)),
            gone=tuple(sorted(one.path for one in mine if not one.there)),
        )
        for _, mine in sorted(found.items())
    )
