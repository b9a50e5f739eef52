"""The standing of a revision on each of its machines, today."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from tracker.policy.standing import Judge
from tracker.policy.states import UNPROVEN, Standing
from tracker.records.stored import Ledger, Stored


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineStanding:
    """A machine and how the revision stands there."""

    machine: str
    standing: Standing


def standings(
    ledger: Ledger, revision: Stored, machines: Iterable[str], day: datetime
) -> tuple[MachineStanding, ...]:
    """One for each machine, in the order of the setup sheet; a machine shop.toml does not list proves nothing."""
    judge = Judge(ledger, day)
    return tuple(_on(judge, ledger, revision, name) for name in machines)


def not_listed(name: str) -> Standing:
    """The standing on a machine shop.toml does not list."""
    return Standing(state=UNPROVEN, reason=f"unproven: {name} is not in shop.toml")


def _on(judge: Judge, ledger: Ledger, revision: Stored, name: str) -> MachineStanding:
    machine = ledger.shop.machine(name)
    if machine is None:
        return MachineStanding(machine=name, standing=not_listed(name))
    return MachineStanding(machine=machine.id, standing=judge.standing(revision, machine))
