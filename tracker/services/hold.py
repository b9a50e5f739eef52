"""``hold``: stop the use of a revision, of an operation, or of a machine.

- ``JOB/OP@rN``: that text, and every revision with its code;
- ``JOB/OP``: every revision, later ones too;
- a machine: everything on it, with what happened to it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from tracker.errors import BadCall
from tracker.policy.find import newest, same_name
from tracker.policy.may import require
from tracker.records.events import HoldRecord, RevisionRecord
from tracker.records.problems import nearest_fix
from tracker.records.shop import Machine
from tracker.records.stored import Ledger, Stored
from tracker.services.acted import Acted, machines_of, record_for, standings
from tracker.services.carriers import carriers
from tracker.services.desk import Desk, acting, opening
from tracker.services.locate import locate
from tracker.services.machine_named import machine_named
from tracker.services.naming import Named
from tracker.services.paths import folder_of
from tracker.services.recorded import names
from tracker.services.recording import attached_head, one_line, put_down, reason_text
from tracker.services.revision_text import job_path_of, shown_name
from tracker.services.target import target

MACHINE_CAUSES = ("crash", "repair", "control-update", "moved")
REVISION, OPERATION, MACHINE = "revision", "operation", "machine"


def hold(
    desk: Desk, named: Named, *, by: str | None, reason: str | None, at: datetime | None = None
) -> Acted:
    """Stop the use of a revision, or of an operation where no revision is named.

    Raises:
        BadCall: unknown names, ``no-reason``.
        Refused: ``wrong-role``, ``detached-head``, ``moved``.
    """
    if named.revision is None:
        return _hold_operation(desk, named, by=by, reason=reason, at=at)
    found = target(desk, named)
    person = acting(desk, found.shop, by)
    require(found.shop, person, "hold", desk.clock.now())
    record = HoldRecord(
        job=found.record.job,
        operation=found.record.operation,
        revision=found.stored.name,
        reason=reason_text(reason, "why is it held?"),
        scope=REVISION,
        operation_fingerprint=found.record.operation_fingerprint,
        **opening(desk, person, at=at),
    )
    said = f"held by {person.initials}"
    lies = _on_sticks(desk, found.ledger, found.record.job or "", [found.stored])
    machines = machines_of(desk, found)
    return record_for(desk, found, (record,), author=person, said=said, machines=machines, notes=lies)


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationPlace:
    """An operation with or without revisions: its names, where its records lie, its newest revisions, its machines."""

    ledger: Ledger
    job: str
    operation: str
    job_folder: str
    newest: tuple[Stored, ...]
    machines: tuple[Machine, ...] = ()

    @property
    def spelled(self) -> str:
        """``4471/op10``."""
        return f"{self.job}/{self.operation}"

    @property
    def revisions(self) -> list[tuple[str, Stored]]:
        """The newest revisions with the words they are shown by."""
        return [(f"{self.spelled} {shown_name(one, self.ledger)}", one) for one in self.newest]


def operation_place(desk: Desk, named: Named) -> OperationPlace:
    """The operation ``named`` means, in the tree in hand or else in the records; raises BadCall."""
    ledger = desk.repo.ledger()
    job, operation = names(desk, named, ledger)
    newer = newest(ledger, job, operation)
    machines: list[Machine | None] = []
    try:
        job_path, _, found = locate(desk.repo.tree(), named)
        folder = folder_of(job_path)
        machines = [ledger.shop.machine(one) for one in found.machines]
    except BadCall:
        if not newer:
            raise
        folder = folder_of(job_path_of(newer[0]))
    return OperationPlace(
        ledger=ledger,
        job=job,
        operation=operation,
        job_folder=folder,
        newest=newer,
        machines=tuple(one for one in machines if one is not None),
    )


def _hold_operation(
    desk: Desk, named: Named, *, by: str | None, reason: str | None, at: datetime | None
) -> Acted:
    head = attached_head(desk)
    found = operation_place(desk, named)
    shop = found.ledger.shop
    person = acting(desk, shop, by)
    require(shop, person, "hold", desk.clock.now())
    why = reason_text(reason, "why is it held?")
    record = HoldRecord(
        job=found.job,
        operation=found.operation,
        reason=why,
        scope=OPERATION,
        **opening(desk, person, at=at),
    )
    said = f"{found.spelled} held by {person.initials}, every revision of it"
    done = put_down(
        desk, found.ledger, head, found.job_folder, (record,), author=person, message=f"{said}: {why}"
    )
    return Acted(
        said=said,
        records=(record,),
        paths=done.paths,
        commit=done.commit,
        standings=standings(desk, found.revisions, found.machines),
        notes=_on_sticks(desk, found.ledger, found.job, _revisions(found)),
    )


def _revisions(found: OperationPlace) -> list[Stored]:
    """Every revision of an operation."""
    return [
        stored
        for stored in found.ledger.records
        if isinstance(stored.record, RevisionRecord)
        and same_name(stored.record.job, found.job)
        and same_name(stored.record.operation, found.operation)
    ]


def _on_sticks(desk: Desk, ledger: Ledger, job: str, texts: Iterable[Stored]) -> tuple[str, ...]:
    """Where the texts lie by the records, a line a stick: a hold stops nobody who does not know of it."""
    prints = {one.record.operation_fingerprint for one in texts if isinstance(one.record, RevisionRecord)}
    return tuple(
        f"lies on {one.spelled}: {', '.join(one.files)}: not to be run from there while it is held"
        for one in carriers(ledger, job, prints, desk.clock.now())
        if one.files
    )


def hold_machine(
    desk: Desk,
    name: str,
    *,
    by: str | None,
    because: str | None,
    reason: str | None = None,
    at: datetime | None = None,
) -> Acted:
    """Stop the use of a machine.

    Raises:
        BadCall: ``unknown-machine``, ``no-cause``, ``unknown-cause``, unknown people.
        Refused: ``wrong-role``, ``detached-head``, ``moved``.
    """
    head = attached_head(desk)
    ledger = desk.repo.ledger()
    machine = machine_named(ledger.shop, name)
    person = acting(desk, ledger.shop, by)
    require(ledger.shop, person, "hold", desk.clock.now())
    record = HoldRecord(
        reason=one_line(reason),
        scope=MACHINE,
        machine=machine.id,
        cause=_machine_cause(because),
        **opening(desk, person, at=at),
    )
    said = f"{machine.id} held by {person.initials} ({record.cause})"
    message = said + (f": {record.reason}" if record.reason else "")
    done = put_down(desk, ledger, head, None, (record,), author=person, message=message)
    return Acted(
        said=said,
        records=(record,),
        paths=done.paths,
        commit=done.commit,
        notes=(f"nothing may run on {machine.id} until: {lift_words(machine)}",),
    )


def lift_words(machine: Machine) -> str:
    """The command that ends a machine's hold."""
    return f'proveout lift --machine {machine.id} --check "what was checked" --by INITIALS'


def _machine_cause(because: str | None) -> str:
    if because is None:
        raise BadCall("no-cause", "what happened?", fix=f"say it with --because: {', '.join(MACHINE_CAUSES)}")
    if because not in MACHINE_CAUSES:
        fix = nearest_fix(because, MACHINE_CAUSES, "causes")
        raise BadCall("unknown-cause", f"{because!r} is no cause of a machine's hold", fix=fix)
    return because
