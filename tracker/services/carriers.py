"""Which sticks carry texts that are recalled, by what the records say.

A recall covers code, so every revision with one of its fingerprints counts, whichever export wrote it. What was taken
off since, replaced by another text or missing when the stick came home is told apart: the stick is clean, and the
control it went to may still hold it.
"""

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import datetime

from tracker.policy.find import same_name
from tracker.records.events import CollectRecord, ExportRecord, OnStick, RevisionRecord
from tracker.records.stored import Ledger
from tracker.services.stick_view import owner_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Carrier:
    """One stick as it went to one machine: ``files`` still lie there by the records, ``gone`` do not any more."""

    stick: str
    machine: str
    owner: str | None
    files: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()

    @property
    def spelled(self) -> str:
        """``BLUE-1 (MILL2), owner kp``."""
        return f"{self.stick} ({self.machine})" + (f", owner {self.owner}" if self.owner else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Copy:
    stick: str
    machine: str
    path: str
    there: bool = True


def carriers(ledger: Ledger, job: str, fingerprints: Collection[str], now: datetime) -> tuple[Carrier, ...]:
    """The sticks that operations of ``job`` with one of these fingerprints were written to, by name."""
    covered = {
        (stored.name, (stored.record.operation or "").casefold())
        for stored in ledger.records
        if isinstance(stored.record, RevisionRecord)
        and same_name(stored.record.job, job)
        and stored.record.operation_fingerprint in fingerprints
    }

    def recalled(file: OnStick) -> bool:
        return same_name(file.job, job) and (file.revision, (file.operation or "").casefold()) in covered

    copies: dict[tuple[str, str], _Copy] = {}
    for stored in ledger.records:
        record = stored.record
        if isinstance(record, ExportRecord):
            for file in record.files:
                key = (record.stick.casefold(), file.path.casefold())
                if recalled(file):
                    copies[key] = _Copy(stick=record.stick, machine=record.machine, path=file.path)
                else:
                    _went(copies, key)
            for file in record.removed:
                _went(copies, (record.stick.casefold(), file.path.casefold()))
        elif isinstance(record, CollectRecord):
            for file in record.files:
                if file.verdict == "missing":
                    _went(copies, (record.stick.casefold(), file.path.casefold()))
    return _by_stick(ledger, list(copies.values()), now)


def _went(copies: dict[tuple[str, str], _Copy], key: tuple[str, str]) -> None:
    if key in copies:
        copies[key] = replace(copies[key], there=False)


def _by_stick(ledger: Ledger, copies: list[_Copy], now: datetime) -> tuple[Carrier, ...]:
    """One carrier for each stick and machine, whatever letters a record spells it in."""
    found: dict[tuple[str, str], list[_Copy]] = {}
    for copy in copies:
        found.setdefault((copy.stick.casefold(), copy.machine.casefold()), []).append(copy)
    return tuple(
        Carrier(
            stick=mine[-1].stick,
            machine=mine[-1].machine,
            owner=owner_of(ledger.shop, mine[-1].stick, now),
            files=tuple(sorted(one.path for one in mine if one.there)),
            gone=tuple(sorted(one.path for one in mine if not one.there)),
        )
        for _, mine in sorted(found.items())
    )
