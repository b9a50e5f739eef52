"""What a person may set side by side: a revision, a release (``4471@2``), or what is meant for a machine (``4471@MILL2``).

Each is a number of operations with one recorded text each. For a machine it is the text of the latest release where that
may run there today, else the newest one checked in; an alternative for another machine counts as the operation it is an
alternative to, so that the texts of two machines meet.
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from tracker.errors import BadCall
from tracker.frozen import dataclass
from tracker.policy.find import by_name, label, newest, same_name
from tracker.records.events import ReleaseRecord
from tracker.records.job import Job, Operation
from tracker.records.shop import Machine
from tracker.records.stored import Ledger
from tracker.services.locate import find_job, find_operation
from tracker.services.named_by_id import named_or_id
from tracker.services.naming import parse_named
from tracker.services.recorded import recorded
from tracker.services.release_named import ReleaseNamed, release_named, release_records
from tracker.services.revision_text import RevisionText, revision_text
from tracker.services.usable import Board

if TYPE_CHECKING:
    from tracker.services.desk import Desk


@dataclass(frozen=True, slots=True, kw_only=True)
class Texts:
    """One side of a comparison.

    ``parts``: operation id -> its text. ``one``: a single revision was named, whatever its operation is called.
    ``notes``: which texts these are, where the name alone does not say it.
    """

    name: str
    parts: Mapping[str, RevisionText]
    one: bool = False
    notes: tuple[str, ...] = ()


def texts_named(desk: "Desk", text: str, ledger: Ledger | None = None) -> Texts:
    """What ``text`` names.

    Raises:
        BadCall: ``bad-name``, ``unknown-job``, ``unknown-operation``, ``which-operation``, ``unknown-revision``,
            ``ambiguous-revision``, ``unknown-release``, ``not-for-machine``.
    """
    ledger = ledger or desk.repo.ledger()
    release = release_named(text)
    if release is not None:
        return _of_release(desk, ledger, release)
    before, _, after = text.strip().rpartition("@")
    machine = ledger.shop.machine(after) if before else None
    if machine is not None:
        return _for_machine(desk, ledger, before, machine)
    found = recorded(desk, named_or_id(desk, text).named, ledger)
    return Texts(name=text, parts={found.operation: revision_text(desk.repo, found.stored)}, one=True)


def _of_release(desk: "Desk", ledger: Ledger, named: ReleaseNamed) -> Texts:
    """Every operation as a release record holds it; of two records with one number the first that was made."""
    record = release_records(ledger, named)[0].record
    parts: dict[str, RevisionText] = {}
    notes: list[str] = []
    for held in record.operations if isinstance(record, ReleaseRecord) else ():
        stored = by_name(ledger, named.job, held.operation, held.revision)
        if stored is None:
            notes.append(f"{held.operation} {label(held.revision)} of release {named.number} is not in hand")
        else:
            parts[held.operation] = revision_text(desk.repo, stored)
    return Texts(name=f"{named.job}@{named.number}", parts=parts, notes=tuple(notes))


def _for_machine(desk: "Desk", ledger: Ledger, text: str, machine: Machine) -> Texts:
    """The text of every operation named that is meant for the machine."""
    job, wanted = _named_operations(desk, text)
    usable, _ = Board(desk, ledger).on_machine(machine)
    released = {
        one.released.operation.id.casefold(): one.released
        for one in usable
        if same_name(one.released.job, job.number)
    }
    parts: dict[str, RevisionText] = {}
    notes: list[str] = []
    for operation in wanted:
        if not any(same_name(name, machine.id) for name in operation.machines):
            continue
        held = released.get(operation.id.casefold())
        stored = (held.stored,) if held else newest(ledger, job.number, operation.id)
        if len(stored) != 1:
            notes.append(f"{operation.id} has {'several newest revisions' if stored else 'no revision yet'}")
            continue
        state = f"release {held.release}" if held else "the newest; no released one may run there"
        notes.append(f"on {machine.id}: {job.number}/{operation.id} {label(stored[0].name)} ({state})")
        parts[_root(job, operation)] = revision_text(desk.repo, stored[0])
    if not parts:
        raise BadCall(
            "not-for-machine",
            f"nothing of {text} is meant for {machine.id}",
            reasons=tuple(notes),
            fix="the machines of an operation stand in job.toml; proveout status shows them",
        )
    return Texts(name=f"{text}@{machine.id}", parts=parts, notes=tuple(notes))


def _named_operations(desk: "Desk", text: str) -> tuple[Job, tuple[Operation, ...]]:
    """The job, and of its operations those meant: all, or the one named with its alternatives."""
    named, tree = parse_named(text), desk.repo.tree()
    job = tree.job(find_job(tree, named.job))
    if named.operation is None:
        return job, job.operations
    root = _root(job, find_operation(job, named.operation))
    return job, tuple(one for one in job.operations if _root(job, one) == root)


def _root(job: Job, operation: Operation) -> str:
    """The id of the operation at the end of a line of alternatives; a circle ends where it closes."""
    seen = [operation.id]
    here: Operation | None = operation
    while here is not None and here.alternative_to:
        here = next((one for one in job.operations if same_name(one.id, here.alternative_to)), None)
        if here is None or here.id in seen:
            break
        seen.append(here.id)
    return seen[-1]
