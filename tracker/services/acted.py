"""What the small verbs answer with: the records put down, and how things stand afterwards."""

from collections.abc import Iterable
from dataclasses import dataclass

from tracker.policy.days import entered_late
from tracker.policy.standing import standing
from tracker.policy.states import Standing
from tracker.records.events import AnyRecord
from tracker.records.shop import Machine, Person
from tracker.records.stored import Stored
from tracker.services.desk import Desk
from tracker.services.recording import put_down
from tracker.services.revision_text import revision_text
from tracker.services.target import Target


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenOn:
    """How a revision stands on a machine."""

    spelled: str
    machine: str
    standing: Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class Acted:
    """What was done: ``said`` in one line, the records with their paths, the commit, the standings afterwards."""

    said: str
    records: tuple[AnyRecord, ...]
    paths: tuple[str, ...]
    commit: str
    standings: tuple[SeenOn, ...] = ()
    notes: tuple[str, ...] = ()


def record_for(
    desk: Desk,
    found: Target,
    records: tuple[AnyRecord, ...],
    *,
    author: Person,
    said: str,
    machines: Iterable[Machine],
    notes: tuple[str, ...] = (),
) -> Acted:
    """Put records of one revision down and look how it stands on ``machines`` afterwards."""
    reason = next((one.reason for one in records if one.reason), None)
    message = f"{found.spelled}: {said}" + (f": {reason}" if reason else "")
    done = put_down(desk, found.ledger, found.head, found.job_folder, records, author=author, message=message)
    late = ("entered late",) if any(entered_late(one) for one in records) else ()
    return Acted(
        said=f"{found.spelled}: {said}",
        records=records,
        paths=done.paths,
        commit=done.commit,
        standings=standings(desk, [(found.spelled, found.stored)], machines),
        notes=(*notes, *late),
    )


def standings(
    desk: Desk, revisions: Iterable[tuple[str, Stored]], machines: Iterable[Machine]
) -> tuple[SeenOn, ...]:
    """How revisions stand today on machines, read anew from the repository."""
    ledger, now = desk.repo.ledger(), desk.clock.now()
    places = list(machines)
    return tuple(
        SeenOn(spelled=spelled, machine=machine.id, standing=standing(ledger, stored, machine, now))
        for spelled, stored in revisions
        for machine in places
    )


def machines_of(desk: Desk, found: Target) -> tuple[Machine, ...]:
    """The machines the revision's job.toml names, as far as shop.toml knows them."""
    operation = revision_text(desk.repo, found.stored).operation
    named = operation.machines if operation else ()
    return tuple(machine for one in named if (machine := found.shop.machine(one)) is not None)
