"""``history``: what happened to a job or an operation, in order.

Exports and collections belong to no job: they are listed under every job a file of theirs belongs to. What was struck
is listed and marked, and so is what only another branch holds.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from tracker.errors import BadCall
from tracker.nc.kinds import SENTENCES
from tracker.policy.days import local_date, zone_of
from tracker.policy.find import same_name, struck
from tracker.policy.spelled import counted
from tracker.records.events import (
    EVENTS,
    AnyRecord,
    CollectRecord,
    DeviationRecord,
    ExportRecord,
    HoldRecord,
    LiftRecord,
    MeasuredRecord,
    ProofRecord,
    RanRecord,
    ReleasedOperation,
    ReleaseRecord,
    ReviewRecord,
    RevisionRecord,
    WithdrawRecord,
)
from tracker.records.stored import Ledger, Stored
from tracker.services.day_said import day_said
from tracker.services.desk import Desk
from tracker.services.locate import find_job, find_operation
from tracker.services.naming import Named
from tracker.services.revision_text import ShownNames, before_words
from tracker.services.signed_views import SignedViews


@dataclass(frozen=True, slots=True, kw_only=True)
class Happened:
    """One event: its record with what a screen says about it.

    ``revision`` as shown (``r5``); ``kinds`` raw, of a revision those from all its origins; ``words`` the result or
    the number that belongs to the event; ``signed`` what is said of its signature, ``signs``: somebody in the shop signs.
    """

    stored: Stored
    at: datetime
    event: str
    job: str | None
    operation: str | None
    revision: str | None
    machine: str | None
    by: str
    entered_by: str | None
    kinds: tuple[str, ...]
    reason: str | None
    words: str
    struck: bool
    signed: str
    signs: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryReport:
    """The events asked for, oldest first, the shop's time zone, and records that cannot be read."""

    events: tuple[Happened, ...]
    timezone: str
    unreadable: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Filters:
    """What is kept; None keeps all.

    ``person``: initials of who did or entered it. ``kind``: of a revision or a desk review, the kind of change.
    ``since``, ``until``: days (``2026-03-20``), both of them included, by when it is said to have happened.
    """

    machine: str | None = None
    person: str | None = None
    event: str | None = None
    kind: str | None = None
    since: str | None = None
    until: str | None = None


def history(desk: Desk, named: Named | None, filters: Filters = Filters()) -> HistoryReport:
    """The events of a job, of an operation, or (without a name) of the whole shop.

    Raises:
        BadCall: ``unknown-job``, ``unknown-operation``, ``unknown-machine``, ``unknown-person``, ``unknown-event``,
            ``unknown-kind``, ``bad-date``.
    """
    ledger, job, operation = _asked(desk, named, filters)
    _known(ledger, filters)
    zone = zone_of(ledger.shop)
    since = day_said(filters.since) if filters.since else None
    until = day_said(filters.until) if filters.until else None
    gone, seals, shown = struck(ledger), SignedViews(desk, ledger), ShownNames(ledger)
    happened = [
        _happened(shown, stored, seals, is_struck=stored.path in gone)
        for stored in ledger.records
        if job is None or _belongs(stored.record, job, operation)
    ]
    kept = [
        one
        for one in happened
        if _kept(one, filters)
        and (since is None or local_date(one.at, zone) >= since)
        and (until is None or local_date(one.at, zone) <= until)
    ]
    return HistoryReport(
        events=tuple(sorted(kept, key=lambda one: (one.at, one.stored.order, one.stored.path))),
        timezone=ledger.shop.timezone,
        unreadable=tuple(f"{bad.path}: {bad.why}" for bad in ledger.unreadable),
    )


def _asked(desk: Desk, named: Named | None, filters: Filters) -> tuple[Ledger, str | None, str | None]:
    """The records looked through, with job and operation as written; of one job its part where that is enough."""
    head = desk.repo.head().commit
    if named is None or head is None or filters.machine is not None or filters.person is not None:
        ledger = desk.repo.ledger()
        return ledger, *(_names(desk, ledger, named) if named else (None, None))
    tree = desk.repo.tree()
    try:
        number = tree.job(find_job(tree, named.job)).number
    except BadCall:  # it may stand in the records alone
        number = named.job
    part = desk.repo.ledger_of_job(head, number)
    return part, *_names(desk, part, named)


def _names(desk: Desk, ledger: Ledger, named: Named) -> tuple[str, str | None]:
    """Job and operation as written; a job that is in the records only is found there."""
    tree = desk.repo.tree()
    try:
        job = tree.job(find_job(tree, named.job))
        operation = find_operation(job, named.operation).id if named.operation else None
    except BadCall:
        records = [s.record for s in ledger.records if same_name(s.record.job, named.job)]
        spelled = next((r.operation for r in records if same_name(r.operation, named.operation)), None)
        if not records or (named.operation and spelled is None):
            raise
        return records[0].job or named.job, spelled
    return job.number, operation


def _kept(one: Happened, filters: Filters) -> bool:
    person = filters.person
    return (
        (filters.machine is None or same_name(one.machine, filters.machine))
        and (person is None or same_name(one.by, person) or same_name(one.entered_by, person))
        and (filters.event is None or one.event == filters.event.lower())
        and (filters.kind is None or filters.kind.lower() in one.kinds)
    )


def _known(ledger: Ledger, filters: Filters) -> None:
    """Raise BadCall for a filter nothing could ever match."""
    machine, person, event = filters.machine, filters.person, filters.event
    if filters.kind is not None:
        _must_be("unknown-kind", "kind of change", filters.kind, SENTENCES)
    if machine is not None:
        used = {getattr(stored.record, "machine", None) for stored in ledger.records}
        listed = {one.id for one in ledger.shop.machines}
        _must_be("unknown-machine", "machine", machine, {*listed, *(one for one in used if one)})
    if person is not None:
        acted = {name for s in ledger.records for name in (s.record.by, s.record.entered_by) if name}
        people = {one.initials for one in ledger.shop.people}
        _must_be("unknown-person", "person with the initials", person, people | acted)
    if event is not None:
        _must_be("unknown-event", "event", event, EVENTS)


def _must_be(slug: str, what: str, name: str, known: Iterable[str]) -> None:
    listed = sorted(known)
    if not any(same_name(name, one) for one in listed):
        raise BadCall(slug, f"there is no {what} {name!r}", fix=f"known: {', '.join(listed) or 'none'}")


def _belongs(record: AnyRecord, job: str, operation: str | None) -> bool:
    if isinstance(record, ExportRecord | CollectRecord):
        return any(
            same_name(file.job, job) and (operation is None or same_name(file.operation, operation))
            for file in record.files
        )
    if not same_name(record.job, job):
        return False
    if operation is None or same_name(record.operation, operation):
        return True
    return any(same_name(one.operation, operation) for one in _operations(record))


def _happened(shown: ShownNames, stored: Stored, seals: SignedViews, *, is_struck: bool) -> Happened:
    record = stored.record
    revision = stored.name if isinstance(record, RevisionRecord) else record.revision
    return Happened(
        stored=stored,
        at=record.at,
        event=record.EVENT,
        job=record.job,
        operation=record.operation,
        revision=shown(record.job, record.operation, revision) if revision else revision,
        machine=getattr(record, "machine", None),
        by=record.by,
        entered_by=record.entered_by,
        kinds=_kinds(record),
        reason=record.reason,
        words=_words(record, shown),
        struck=is_struck,
        signed=seals.words(stored),
        signs=seals.anybody,
    )


def _kinds(record: AnyRecord) -> tuple[str, ...]:
    if isinstance(record, RevisionRecord):
        return tuple(sorted({kind for origin in record.origins for kind in origin.kinds}))
    return tuple(record.kinds) if isinstance(record, ReviewRecord) else ()


def _words(record: AnyRecord, shown: ShownNames) -> str:
    """What the event came to, where its name alone does not say it."""
    if isinstance(record, RevisionRecord) and record.before is not None:
        return before_words(record.before)
    if isinstance(record, ProofRecord):
        return _proof_words(record)
    if isinstance(record, MeasuredRecord):
        return record.result
    if isinstance(record, ReleaseRecord | WithdrawRecord):
        of = [
            f"{one.operation} {shown(record.job, one.operation, one.revision)}" for one in record.operations
        ]
        return f"release {record.number}: {', '.join(of)}"
    if isinstance(record, ExportRecord):
        return f"{counted(len(record.files), 'program')} to {record.stick}, {record.purpose}"
    if isinstance(record, CollectRecord):
        return f"{counted(len(record.files), 'file')} from {record.stick}"
    if isinstance(record, DeviationRecord):
        return f"{record.hours} h" + (f", lot {record.lot}" if record.lot else "")
    if isinstance(record, RanRecord):
        return _run_words(record)
    if isinstance(record, HoldRecord):
        return record.cause or ""
    if isinstance(record, LiftRecord):
        return record.check or ""
    return ""


def _run_words(record: RanRecord) -> str:
    parts = [f"lot {record.lot}"] if record.lot else []
    if record.quantity is not None:
        parts.append(counted(record.quantity, "piece"))
    if record.serials:
        parts.append("serials " + ", ".join(record.serials))
    if record.first_piece:
        parts.append(f"first piece {record.first_piece.result}")
    return ", ".join(parts)


def _proof_words(record: ProofRecord) -> str:
    parts = [record.result]
    if record.tools:
        parts.append("of " + ", ".join(f"T{tool}" for tool in record.tools))
    if record.again:
        parts.append("short form")
    if record.prior:
        parts.append("on paper, before the record")
    if record.cause:
        parts.append(f"cause {record.cause}")
    if record.first_piece:
        parts.append(f"first piece {record.first_piece.result}")
    return ", ".join(parts)


def _operations(record: AnyRecord) -> tuple[ReleasedOperation, ...]:
    return record.operations if isinstance(record, ReleaseRecord | WithdrawRecord) else ()
