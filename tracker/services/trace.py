"""``where --lot``, ``--serial``, ``--on DAY --machine M``: from a part back to the text it was made with, as far as runs were put down.

Every run that answers is told with the revision, how it stood when it ran and what was released that day, whether its text
was stopped since, the proofs there were by then, how the text differs from the one before, and the sticks that took it to the
machine. A stick that holds a program of it beside others took it nowhere: where none took all of it that is said, with the text
of the operation that went there last. Where nobody put a run down nothing is filled in: the gap is said, with what went to the
machine before that day and what came home after.
"""

from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date, datetime

from tracker.errors import BadCall
from tracker.policy.at_run import RunJudges
from tracker.policy.days import end_of_day, happened_on, zone_of
from tracker.policy.find import by_name, same_name
from tracker.policy.shops import shop_on
from tracker.policy.standing import Judge
from tracker.policy.states import HELD, REJECTED, WITHDRAWN, Standing
from tracker.policy.strikes import struck
from tracker.records.events import (
    CollectRecord,
    CountersignRecord,
    ExportRecord,
    MeasuredRecord,
    OnStick,
    Origin,
    ProofRecord,
    RanRecord,
    ReleaseRecord,
    ReviewRecord,
    RevisionRecord,
)
from tracker.records.stored import Ledger, Stored
from tracker.services.day_said import day_been
from tracker.services.desk import Desk
from tracker.services.machine_named import machine_named
from tracker.services.revision_text import ShownNames
from tracker.services.told_by_bytes import Told

_STOPPED = frozenset({WITHDRAWN, HELD, REJECTED})
_PURPOSES = {"for-proving": ", for its prove-out only", "deviation": ", under a deviation"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is looked for: a lot, a serial number, or a day (``2026-03-12``) on a machine; a job narrows it."""

    lot: str | None = None
    serial: str | None = None
    day: str | None = None
    machine: str | None = None
    job: str | None = None

    @property
    def words(self) -> str:
        """``lot 2207``, ``MILL2 on 2026-03-12``."""
        said = [f"lot {self.lot}" if self.lot else "", f"serial {self.serial}" if self.serial else ""]
        if self.day:
            said.append(f"{self.machine} on {self.day}")
        elif self.machine:
            said.append(f"on {self.machine}")
        return ", ".join(filter(None, said))


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A proof, an export or a collection that concerns a run: when, what in words, by whom, and its record."""

    at: datetime
    words: str
    by: str
    record: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One run that answers.

    Attributes:
        stored, record: the run as put down; ``day`` it was made.
        revision: ``r5``.
        standing, reason: of that revision on that machine when it ran, as an audit judges it.
        released: the release that held it by then, or None.
        since: how it stands there today where it was stopped since: withdrawn, held, rejected; None else.
        origins: what it came from, as its name is shown, and how it differs, as its record says.
        proofs: proofs of it, or of its code, on the machine by then.
        rests_on: what else its standing rested on: the proofs it was carried over from or counts by, second persons, reviews.
        sticks: exports of it for the machine by then, and collections that saw it there, the nearest on either side.
        other: where no export took it there, the last one that took another text of the operation there.
    """

    stored: Stored
    record: RanRecord
    day: date
    revision: str
    standing: str
    reason: str
    released: int | None
    since: Standing | None
    origins: tuple[tuple[str, Origin], ...]
    proofs: tuple[Seen, ...]
    rests_on: tuple[Seen, ...]
    sticks: tuple[Seen, ...]
    other: Seen | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceReport:
    """The runs, and in words what the record does not hold. ``nearest``: what went to a machine and came from it, where no run is."""

    asked: str
    runs: tuple[Run, ...]
    gaps: tuple[str, ...]
    nearest: tuple[Seen, ...]
    timezone: str


def trace(desk: Desk, wanted: Wanted) -> TraceReport:
    """Trace back.

    Raises:
        BadCall: ``wrong-call`` (nothing to look for, a day without a machine), ``bad-date``, ``unknown-machine``.
        CouldNot: what reading the repository raises.
    """
    if not (wanted.lot or wanted.serial or wanted.day):
        raise BadCall(
            "wrong-call", "what is to be traced?", fix="name --lot, --serial, or --on DAY --machine M"
        )
    if wanted.day and not wanted.machine:
        raise BadCall("wrong-call", "a day on which machine?", fix="name the machine, --machine M")
    ledger = desk.repo.ledger()
    if wanted.machine:
        machine_named(ledger.shop, wanted.machine)
    day = day_been(wanted.day, desk, ledger) if wanted.day else None
    look = _Look(ledger, desk.clock.now())
    runs = tuple(look.run(*found) for found in look.runs(wanted, day))
    gaps: list[str] = []
    nearest: tuple[Seen, ...] = ()
    if not runs:
        gaps += look.struck(wanted, day)
        gaps.append(f"no run {'that counts ' if gaps else ''}is recorded for {wanted.words}")
        if day is not None and wanted.machine:
            nearest = tuple(look.nearest(wanted.machine, day, wanted.job))
            if not nearest:
                gaps.append(f"nothing was exported for {wanted.machine} before, or collected from it")
    gaps += [f"not readable, and may have held more: {bad.path}: {bad.why}" for bad in ledger.unreadable]
    return TraceReport(
        asked=wanted.words, runs=runs, gaps=tuple(gaps), nearest=nearest, timezone=ledger.shop.timezone
    )


_Place = tuple[str, str | None]
_Ran = tuple[Stored, RanRecord]


class _Look:
    """Looks through one ledger."""

    def __init__(self, ledger: Ledger, now: datetime) -> None:
        self._ledger = ledger
        self._today = Judge(ledger, now)
        self._shown = ShownNames(ledger)
        self._zone = zone_of(ledger.shop)
        gone = struck(ledger)
        self._records = [stored for stored in ledger.records if stored.path not in gone]
        self._struck = [stored for stored in ledger.records if stored.path in gone]
        self._judges, self._told = RunJudges(ledger), Told.ever(ledger)

    def runs(self, wanted: Wanted, day: date | None) -> Iterator[_Ran]:
        """The runs that answer, as they came in."""
        yield from self._asked(self._records, wanted, day)

    def struck(self, wanted: Wanted, day: date | None) -> Iterator[str]:
        """Runs that would answer, and have a line through them."""
        for stored, record in self._asked(self._struck, wanted, day):
            name = self._shown.of(stored) or "-"
            yield f"put down, and struck since: {record.job}/{record.operation} {name} on {record.machine}: {stored.path}"

    def _asked(self, among: list[Stored], wanted: Wanted, day: date | None) -> Iterator[_Ran]:
        for stored in among:
            record = stored.record
            if not isinstance(record, RanRecord):
                continue
            if wanted.lot and not same_name(record.lot, wanted.lot):
                continue
            if wanted.serial and not any(same_name(one, wanted.serial) for one in record.serials):
                continue
            if wanted.machine and not same_name(record.machine, wanted.machine):
                continue
            if wanted.job and not same_name(record.job, wanted.job):
                continue
            if day is None or self._day(record) == day:
                yield stored, record

    def run(self, stored: Stored, record: RanRecord) -> Run:
        """All there is of one run."""
        day = self._day(record)
        end = end_of_day(day, self._zone)
        job, operation, name = record.job or "", record.operation or "", record.revision or ""
        revision = by_name(self._ledger, job, operation, name)
        text = (
            revision.record if revision is not None and isinstance(revision.record, RevisionRecord) else None
        )
        machine = self._ledger.shop.machine(record.machine) or shop_on(self._ledger, end).machine(
            record.machine
        )
        standing, since = "unknown", None
        relied_on: Sequence[Stored] = ()
        reason = "its machine is not in shop.toml" if text else "its revision is not in the record"
        if revision is not None and text is not None and machine is not None:
            found = self._judges.of(stored, record).standing(revision, machine)
            standing, reason, relied_on = found.state, found.reason, found.relied_on
            today = self._today.standing(revision, machine)
            since = today if today.state in _STOPPED and today.reason != reason else None
        sticks = tuple(self._sticks(record, text, end))
        proofs = tuple(self._proofs(record, end))
        own = {one.record for one in proofs}
        return Run(
            stored=stored,
            record=record,
            day=day,
            revision=self._shown(job, operation, name),
            standing=standing,
            reason=reason,
            released=self._released(job, operation, name, end),
            since=since,
            origins=self._origins(job, operation, text),
            proofs=proofs,
            rests_on=tuple(self._rests_on([one for one in relied_on if one.path not in own], end)),
            sticks=sticks,
            other=self._other(record, end, sticks),
        )

    def _origins(
        self, job: str, operation: str, text: RevisionRecord | None
    ) -> tuple[tuple[str, Origin], ...]:
        origins = text.origins if text is not None else ()
        return tuple((self._shown(job, operation, one.revision), one) for one in origins)

    def nearest(self, machine: str, day: date, job: str | None) -> Iterator[Seen]:
        """What was exported for the machine last by the end of that day, and collected from it first after."""
        end = end_of_day(day, self._zone)
        taken: dict[_Place, Seen] = {}
        home: dict[_Place, Seen] = {}
        for stored in self._records:
            record = stored.record
            if not isinstance(record, ExportRecord | CollectRecord) or not same_name(record.machine, machine):
                continue
            for file in record.files:
                if file.job is None or (job is not None and not same_name(file.job, job)):
                    continue
                key = (file.job, file.operation)
                if isinstance(record, ExportRecord) and record.at <= end:
                    taken[key] = self._on_stick(stored, record, file, "exported")
                elif isinstance(record, CollectRecord) and record.at > end:
                    home.setdefault(key, self._on_stick(stored, record, file, file.verdict or "seen"))
        yield from sorted((*taken.values(), *home.values()), key=lambda one: (one.at, one.words))

    def _day(self, record: RanRecord) -> date:
        try:
            return date.fromisoformat((record.date or "")[:10])
        except ValueError:
            return happened_on(record, self._zone)

    def _released(self, job: str, operation: str, name: str, end: datetime) -> int | None:
        numbers = [
            stored.record.number
            for stored in self._records
            if isinstance(stored.record, ReleaseRecord)
            and stored.record.entered <= end
            and same_name(stored.record.job, job)
            and any(
                same_name(held.operation, operation) and held.revision == name
                for held in stored.record.operations
            )
        ]
        return max(numbers, default=None)

    def _proofs(self, record: RanRecord, end: datetime) -> Iterator[Seen]:
        for stored in self._records:
            proof = stored.record
            if (
                isinstance(proof, ProofRecord)
                and proof.entered <= end
                and same_name(proof.machine, record.machine)
                and same_name(proof.job, record.job)
                and same_name(proof.operation, record.operation)
                and (
                    proof.revision == record.revision
                    or proof.operation_fingerprint == record.operation_fingerprint
                )
            ):
                yield self._proof(stored, proof, end)

    def _rests_on(self, relied_on: Sequence[Stored], end: datetime) -> Iterator[Seen]:
        for stored in relied_on:
            record = stored.record
            name = self._shown.of(stored) or ""
            if isinstance(record, ProofRecord):
                yield self._proof(stored, record, end)
                continue
            words = None
            if isinstance(record, ReviewRecord):
                older = self._shown(record.job, record.operation, record.from_revision)
                words = f"{name} read against {older}, desk review"
            elif isinstance(record, CountersignRecord):
                words = f"{name} countersigned"
            elif isinstance(record, MeasuredRecord):
                words = f"{name} first piece {record.result}, {record.report}"
            if words is not None:
                yield Seen(at=record.at, words=words, by=record.by, record=stored.path)

    def _proof(self, stored: Stored, proof: ProofRecord, end: datetime) -> Seen:
        revision = self._shown(proof.job, proof.operation, proof.revision or "")
        marks = "".join(f", {mark}" for mark in self._marks(stored, proof, end))
        words = f"{revision} {proof.result} on {proof.machine}{marks}"
        return Seen(at=proof.at, words=words, by=proof.by, record=stored.path)

    def _marks(self, stored: Stored, proof: ProofRecord, end: datetime) -> Iterator[str]:
        """What has to be said with a proof, that it is taken for no more than it is."""
        if proof.tools:
            yield f"tools {', '.join(proof.tools)} only"
        if proof.again:
            yield "short form"
        if proof.prior is not None:
            yield "on paper, before the record"
        if proof.first_piece is not None:
            measured = [
                one.record.result
                for one in self._records
                if isinstance(one.record, MeasuredRecord)
                and one.record.proof == stored.path
                and one.record.entered <= end
            ]
            result = "rejected" if "rejected" in measured else (*measured, proof.first_piece.result)[0]
            if result != "accepted":
                yield f"first piece {result}"

    def _sticks(self, record: RanRecord, text: RevisionRecord | None, end: datetime) -> Iterator[Seen]:
        """The last export of the text for the machine by then, and the first collection after that saw it there."""
        prints = {file.fingerprint for file in text.files} if text is not None else set()
        out: Seen | None = None
        home: Seen | None = None
        for stored, carried in self._carried(record.machine):
            file = _text_on(self._told.files_of(carried), record, prints)
            if file is None:
                continue
            if isinstance(carried, ExportRecord) and carried.at <= end:
                out = self._on_stick(stored, carried, file, "exported")
            elif isinstance(carried, CollectRecord) and carried.at > record.at and home is None:
                home = self._on_stick(stored, carried, file, file.verdict or "seen")
        yield from filter(None, (out, home))

    def _other(self, record: RanRecord, end: datetime, sticks: Sequence[Seen]) -> Seen | None:
        """The last text of the operation that an export took there, where none took this one."""
        found: Seen | None = None
        for stored, carried in self._carried(record.machine):
            if not isinstance(carried, ExportRecord) or carried.at > end:
                continue
            if any(seen.record == stored.path for seen in sticks):
                return None
            file = next((one for one in carried.files if _of_operation(one, record)), None)
            found = found if file is None else self._on_stick(stored, carried, file, "exported")
        return found

    def _carried(self, machine: str) -> Iterator[tuple[Stored, ExportRecord | CollectRecord]]:
        for stored in self._records:
            carried = stored.record
            if isinstance(carried, ExportRecord | CollectRecord) and same_name(carried.machine, machine):
                yield stored, carried

    def _on_stick(
        self, stored: Stored, record: ExportRecord | CollectRecord, file: OnStick, how: str
    ) -> Seen:
        place = "/".join(filter(None, (file.job, file.operation)))
        revision = f" {self._shown(file.job, file.operation, file.revision)}" if file.revision else ""
        way = "to" if isinstance(record, ExportRecord) else "on"
        only = _PURPOSES.get(record.purpose, "") if isinstance(record, ExportRecord) else ""
        words = f"{place}{revision} {how} {way} {record.stick} for {record.machine}{only}"
        return Seen(at=record.at, words=words, by=record.by, record=stored.path)


def _of_operation(file: OnStick, record: RanRecord) -> bool:
    return same_name(file.job, record.job) and same_name(file.operation, record.operation)


def _text_on(files: Sequence[OnStick], record: RanRecord, prints: AbstractSet[str]) -> OnStick | None:
    """A file by which a medium held the text that ran: its own revision, or every program of it as the same code."""
    own = next((one for one in files if one.revision == record.revision and _of_operation(one, record)), None)
    if own is not None:
        return own
    alike = [one for one in files if one.fingerprint in prints]
    whole = bool(prints) and prints <= {one.fingerprint for one in alike}
    return next((one for one in alike if _of_operation(one, record)), alike[0]) if whole else None
