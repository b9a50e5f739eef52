"""``sheet``: the setup sheet of a revision for one machine, with how it stands there today.

It is a sheet of what was recorded, never of edits in the working folder: the id on it is read back at the machine.
Nothing is written, so it may be asked for on a detached head too.
"""

from collections.abc import Iterator
from datetime import datetime

from tracker.errors import BadCall, CouldNot
from tracker.frozen import dataclass
from tracker.machining.section_list import sections
from tracker.machining.summarise import summarise
from tracker.machining.summary import Summary
from tracker.nc.canonical import Reading
from tracker.nc.compare_tools import reads_as_lathe
from tracker.nc.scan import read
from tracker.policy.find import newest, same_name
from tracker.policy.spelled import counted
from tracker.policy.standing import standing
from tracker.policy.states import Standing
from tracker.records.events import FileOf, Outside, RevisionRecord
from tracker.records.job import Job, Operation
from tracker.records.shop import Machine
from tracker.services.desk import Desk
from tracker.services.machine_named import machine_named
from tracker.services.naming import Named
from tracker.services.prove_units import units_of_text
from tracker.services.recorded import Recorded, recorded
from tracker.services.revision_text import RevisionText, revision_record, revision_text, shown_name
from tracker.services.sheet_since import Since, since_last_proof
from tracker.services.sheet_steps import StepList, step_list
from tracker.services.sheet_tools import SheetTool, tool_rows
from tracker.services.signed_views import SignedViews
from tracker.services.summary import called_of, setting_of
from tracker.services.usable import Board


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetReport:
    """Everything that stands on the sheet.

    Attributes:
        job, operation: as recorded, the sheet values of an original filled in.
        label: ``r5``; ``record`` its record.
        machine: as in shop.toml in hand; ``standing`` of the revision there today.
        release: the latest release, if it holds this very revision and is not withdrawn.
        summary: what the main program does on that machine; ``tools`` its rows beside the sheet's.
        since: what changed since the last full proof there, None where there was none.
        notes: what a person should know besides.
        shop, timezone, paper: as shop.toml says; ``at`` the time of printing; ``clock_set`` somebody set the clock.
        signed: what is said of the signature of the revision's record.
    """

    job: Job
    operation: Operation
    label: str
    record: RevisionRecord
    machine: Machine
    standing: Standing
    release: int | None
    summary: Summary
    tools: tuple[SheetTool, ...]
    since: Since | None
    steps: StepList
    notes: tuple[str, ...]
    shop: str
    timezone: str
    paper: str
    at: datetime
    clock_set: bool
    signed: str

    @property
    def display_id(self) -> str:
        """The 8 digits that are read back at the machine."""
        return self.record.operation_fingerprint[:8].upper()

    @property
    def name(self) -> str:
        """``4471/op10``."""
        return f"{self.job.number}/{self.operation.id}"

    @property
    def files(self) -> tuple[FileOf, ...]:
        """The programs, main first."""
        return self.record.files

    @property
    def outside(self) -> tuple[Outside, ...]:
        """Calls the record does not cover."""
        return self.record.outside


def sheet(desk: Desk, named: Named, machine: str | None) -> SheetReport:
    """The sheet of the revision ``named`` means, the newest where it names none.

    Raises:
        BadCall: unknown job, operation, revision or machine; ``wrong-kind-of-machine``, ``not-its-machine``.
        CouldNot: ``damaged`` where programs or job.toml cannot be read back, and what reading the repository raises.
    """
    found = recorded(desk, named)
    shop = found.ledger.shop
    place = machine_named(shop, machine)
    text = revision_text(desk.repo, found.stored)
    job, operation = _whole(found, text)
    reading = read(text.programs[0].data)
    _is_for(found, operation, place, reading)
    summary = summarise(text.programs[0].data, setting_of((place,), called_of(text.programs)), reading)
    seen = standing(found.ledger, found.stored, place, desk.clock.now())
    return SheetReport(
        job=job,
        operation=operation,
        label=shown_name(found.stored, found.ledger),
        record=text.record,
        machine=place,
        standing=seen,
        release=_release(desk, found),
        summary=summary,
        tools=tool_rows(operation, place, summary, sections(reading)),
        since=since_last_proof(desk.repo, found, text, place, seen),
        steps=step_list(seen, _in_order_of_use(summary, operation), units_of_text(text)),
        notes=tuple(_notes(desk, found, text, operation, place)),
        shop=shop.name,
        timezone=shop.timezone,
        paper=shop.paper,
        at=desk.clock.now(),
        clock_set=desk.clock.is_set,
        signed=SignedViews(desk, found.ledger).words(found.stored),
    )


def _whole(found: Recorded, text: RevisionText) -> tuple[Job, Operation]:
    """The job and the operation; raises CouldNot (``damaged``) where anything of the revision is lost."""
    lost = text.lost if text.programs else (*text.lost, text.stored.path)
    if text.sheet is None:
        lost = (*lost, text.job_path)
    if lost or text.sheet is None:
        raise CouldNot(
            "damaged",
            f"{found.job}/{found.operation} {shown_name(found.stored, found.ledger)} cannot be read back as it was recorded",
            where=lost[0],
            fix="proveout audit says what is missing; a backup may hold it",
            reasons=lost[1:],
        )
    return text.sheet


def _is_for(found: Recorded, operation: Operation, machine: Machine, reading: Reading) -> None:
    """Refuse a machine the operation is not for, or whose kind reads its words otherwise."""
    name = f"{found.job}/{operation.id}"
    meant = operation.machines
    known = [one for text in meant if (one := found.ledger.shop.machine(text)) is not None]
    listed = any(same_name(text, machine.id) for text in meant)
    kinds = {one.type for one in known}
    lathe = reads_as_lathe(reading.code)
    other = (not listed and kinds and machine.type not in kinds) or (
        not meant and lathe is not None and lathe != (machine.type == "lathe")
    )
    if other:
        kind = next(iter(kinds)) if len(kinds) == 1 else "lathe" if lathe else "mill"
        raise BadCall(
            "wrong-kind-of-machine",
            f"{machine.id} is a {machine.type}, and {name} is for a {kind}",
            fix=f"name a machine of that kind: {', '.join(meant) or 'those of shop.toml'}",
        )
    if meant and not listed:
        raise BadCall(
            "not-its-machine",
            f"{name} {shown_name(found.stored, found.ledger)} is not for {machine.id}: job.toml names {', '.join(meant)}",
            fix=f"print it for one of those; or add {machine.id} to machines of {operation.id} in job.toml and check it in",
        )


def _in_order_of_use(summary: Summary, operation: Operation) -> tuple[str, ...]:
    """The tools as the program calls them; those of the sheet where it could not be read."""
    return tuple(dict.fromkeys(f"T{one}" for one in summary.order)) or tuple(
        f"T{tool.number}" for tool in operation.tools
    )


def _release(desk: Desk, found: Recorded) -> int | None:
    """The latest release where it holds this very revision."""
    released = Board(desk, found.ledger).released(found.job, found.operation)
    if released is None or released.stored.name != found.stored.name:
        return None
    return released.release


def _notes(
    desk: Desk, found: Recorded, text: RevisionText, operation: Operation, machine: Machine
) -> Iterator[str]:
    newer = [one for one in newest(found.ledger, found.job, found.operation) if one.name != found.stored.name]
    if newer:
        names = ", ".join(shown_name(one, found.ledger) for one in newer)
        yield f"This is not the newest revision: {names}"
    paths = sorted({text.job_path, *(file.path for file in revision_record(found.stored).files)})
    edited = list(desk.repo.uncommitted(paths))
    if edited:
        files = f"{counted(len(edited), 'file')} of it ({', '.join(edited)})"
        yield f"In the working folder {files} changed since and is not on this sheet: check it in first"
    trouble = SignedViews(desk, found.ledger).trouble(found.stored)
    if trouble is not None:
        yield f"Record of this revision: {trouble}"
    if not operation.machines:
        yield f"job.toml names no machine for {operation.id}; printed for {machine.id} because it was asked for"
