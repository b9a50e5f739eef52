"""``report``: everything somebody looks at a job for, gathered once: standing, timeline, what changed, ways, evidence.

A part an operation. What cannot be read back of one operation is said there, and the others are reported all the same;
of an operation that was named it is an error. Nothing is written.
"""

from collections.abc import Iterator
from datetime import datetime

from tracker.errors import BadCall, CouldNot
from tracker.frozen import dataclass
from tracker.policy.deviations import Deviation, shown
from tracker.policy.find import find_revision, same_name
from tracker.policy.standing import Judge
from tracker.records.events import RevisionRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.comparing import compare_revisions
from tracker.services.comparing_files import CompareReport
from tracker.services.desk import Desk
from tracker.services.history import Happened, history
from tracker.services.locate import find_job, find_operation
from tracker.services.naming import Named
from tracker.services.recorded import recorded
from tracker.services.released import Releases
from tracker.services.report_choice import Against, against
from tracker.services.report_evidence import Evidence, evidence
from tracker.services.report_path import Drawing, drawing
from tracker.services.report_places import MOST_PLACES, Place, context, places
from tracker.services.report_words import title_of
from tracker.services.revision_text import RevisionText, revision_text, shown_name
from tracker.services.standings import MachineStanding
from tracker.services.status import status
from tracker.services.status_look import StatusRow


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationReport:
    """One operation.

    Attributes:
        job, operation: as written.
        title: what the job is of, in words.
        revision: the one reported, as shown (``r5``); None with ``problem`` where there is none to report.
        record: that revision's record.
        display_id: the 8 digits that are read back at the machine.
        rows: of the board, one a machine; empty where an older revision was asked for.
        standings: of the reported revision, today.
        released: the latest release if it holds this very revision.
        against: the older revision it is held against, and why that one; None where there is none.
        compared: how the two differ.
        places: the changes by place, the first of them with what stands around; ``more_places`` how many are left out.
        drawings: the tool path before, where there is an older revision, and after.
        timeline: what happened, oldest first.
        evidence: files and records with their SHA-256.
        notes: what could not be read, and what else is to be said.
    """

    job: str
    operation: str
    title: str = ""
    revision: str | None = None
    record: Stored | None = None
    display_id: str | None = None
    rows: tuple[StatusRow, ...] = ()
    standings: tuple[MachineStanding, ...] = ()
    released: int | None = None
    against: Against | None = None
    compared: CompareReport | None = None
    places: tuple[Place, ...] = ()
    more_places: int = 0
    drawings: tuple[Drawing, ...] = ()
    timeline: tuple[Happened, ...] = ()
    evidence: Evidence | None = None
    notes: tuple[str, ...] = ()
    problem: str | None = None

    @property
    def name(self) -> str:
        """``4471/op10``."""
        return f"{self.job}/{self.operation}"


@dataclass(frozen=True, slots=True, kw_only=True)
class JobReport:
    """A job, or one operation of it, on a day; ``deviations`` as every status opens with them."""

    job: str
    title: str
    operations: tuple[OperationReport, ...]
    deviations: tuple[Deviation, ...]
    shop: str
    timezone: str
    paper: str
    at: datetime
    clock_set: bool


def report(desk: Desk, named: Named, *, older: Named | None = None) -> JobReport:
    """The report of a job or operation.

    Args:
        desk: whose repository and clock.
        named: the job, the operation, or the newer revision.
        older: the revision to hold it against; None: the last released or proved one.

    Raises:
        BadCall: names nothing answers to; ``wrong-call`` where several operations are meant and one is asked for.
        CouldNot: ``damaged`` of an operation that was named, and what reading the repository raises.
    """
    ledger = desk.repo.ledger()
    wanted = _wanted(desk, ledger, named, alone=older is not None or named.revision is not None)
    one = len(wanted) == 1
    parts = tuple(_part(desk, ledger, each, older, strict=one) for each in wanted)
    return JobReport(
        job=parts[0].job,
        title=parts[0].title,
        operations=parts,
        deviations=tuple(d for d in shown(ledger, desk.clock.now()) if same_name(d.record.job, parts[0].job)),
        shop=ledger.shop.name,
        timezone=ledger.shop.timezone,
        paper=ledger.shop.paper,
        at=desk.clock.now(),
        clock_set=desk.clock.is_set,
    )


def _wanted(desk: Desk, ledger: Ledger, named: Named, *, alone: bool) -> tuple[Named, ...]:
    """What is to be reported, an operation each."""
    if named.operation is not None or alone:
        found = recorded(desk, named, ledger)
        return (
            Named(job=found.job, operation=found.operation, revision=named.revision, digits=named.digits),
        )
    tree = desk.repo.tree()
    try:
        job = tree.job(find_job(tree, named.job))
    except BadCall:
        return _in_the_record(ledger, named.job) or (_known(desk, named, ledger),)
    if not job.operations:
        find_operation(job, None)
    return tuple(Named(job=job.number, operation=one.id) for one in job.operations)


def _in_the_record(ledger: Ledger, job: str) -> tuple[Named, ...]:
    """The operations the record knows of a job whose job.toml is gone or cannot be read."""
    own = (
        one.record
        for one in ledger.records
        if isinstance(one.record, RevisionRecord) and same_name(one.record.job, job)
    )
    names = dict.fromkeys((record.job or job, record.operation or "") for record in own)
    return tuple(Named(job=number, operation=operation) for number, operation in names)


def _known(desk: Desk, named: Named, ledger: Ledger) -> Named:
    """What a person named, however it is spelled; raises BadCall (``unknown-job``)."""
    found = recorded(desk, named, ledger)
    return Named(job=found.job, operation=found.operation)


def _part(desk: Desk, ledger: Ledger, named: Named, older: Named | None, *, strict: bool) -> OperationReport:
    """One operation; ``strict``: what goes wrong is raised, else it is said in its place."""
    try:
        stored = find_revision(ledger, named, named.operation or "")
        return _whole(desk, ledger, named, stored, older)
    except (BadCall, CouldNot) as fault:
        if strict:
            raise
        return OperationReport(
            job=named.job, operation=named.operation or "", problem=f"{fault.what}. {fault.fix}"
        )


def _whole(desk: Desk, ledger: Ledger, named: Named, stored: Stored, older: Named | None) -> OperationReport:
    text = _text(desk, ledger, stored)
    job, operation = named.job, named.operation or ""
    now = desk.clock.now()
    judge = Judge(ledger, now)
    standings = tuple(_standings(judge, ledger, stored, text))
    release = Releases(desk.repo, ledger, judge).of(job)
    held = release.latest.operations.get(operation.casefold()) if release.latest is not None else None
    chosen = against(judge, ledger, named, stored, standings, held, older)
    before = _text(desk, ledger, chosen.stored) if chosen is not None else None
    label = shown_name(stored, ledger)
    compared = None
    if chosen is not None and before is not None:
        compared = compare_revisions(ledger.shop, before, text, (chosen.label, label))
    every = places(compared) if compared is not None else ()
    is_released = held is not None and held.revision.path == stored.path and held.withdrawn is None
    return OperationReport(
        job=job,
        operation=operation,
        title=title_of(text.job),
        revision=label,
        record=stored,
        display_id=text.record.operation_fingerprint[:8].upper(),
        rows=_rows(desk, job, operation, label),
        standings=standings,
        released=release.latest.number if release.latest is not None and is_released else None,
        against=chosen,
        compared=compared,
        places=context(every[:MOST_PLACES], before, text),
        more_places=max(len(every) - MOST_PLACES, 0),
        drawings=drawing(ledger.shop, before, text, every),
        timeline=history(desk, Named(job=job, operation=operation)).events,
        evidence=evidence(stored, text, chosen, before, standings, release.latest, ledger),
        notes=tuple(_notes(ledger)),
    )


def _text(desk: Desk, ledger: Ledger, stored: Stored) -> RevisionText:
    """The text of a revision; raises CouldNot (``damaged``) where a program of it is lost."""
    text = revision_text(desk.repo, stored)
    if text.lost or not text.programs:
        raise CouldNot(
            "damaged",
            f"the programs of {shown_name(stored, ledger)} cannot be read back as they were recorded",
            where=(*text.lost, stored.path)[0],
            fix="proveout audit says what is missing; a backup may hold it",
            reasons=text.lost[1:],
        )
    return text


def _standings(judge: Judge, ledger: Ledger, stored: Stored, text: RevisionText) -> Iterator[MachineStanding]:
    for name in text.operation.machines if text.operation else ():
        machine = ledger.shop.machine(name)
        if machine is not None:
            yield MachineStanding(machine=machine.id, standing=judge.standing(stored, machine))


def _rows(desk: Desk, job: str, operation: str, label: str) -> tuple[StatusRow, ...]:
    """What the board says of it, where it is on the board: the newest revision of a job in hand."""
    try:
        board = status(desk, job=job)
    except (BadCall, CouldNot):  # then `standings` says how it stands
        return ()
    return tuple(row for row in board.rows if row.operation == operation and row.revision == label)


def _notes(ledger: Ledger) -> Iterator[str]:
    for bad in ledger.unreadable:
        yield f"not readable: {bad.path}: {bad.why}"
