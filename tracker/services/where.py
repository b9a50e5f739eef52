"""``where``: which machines and sticks a revision reached, and the runs put down for it.

Looked for by what the records say: the revision itself, and texts of other revisions that are the same code, since a
stick carries bytes and not a name. Struck records are listed with their mark: a file that was written does not leave
the stick with a line through its record.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from tracker.policy.find import same_name
from tracker.policy.steps import tools_words
from tracker.policy.strikes import struck
from tracker.records.events import (
    CollectRecord,
    ExportRecord,
    FileOf,
    OnStick,
    ProofRecord,
    RanRecord,
    RevisionRecord,
)
from tracker.records.stored import Stored
from tracker.services import collect_report as verdicts
from tracker.services.desk import Desk
from tracker.services.naming import Named
from tracker.services.recorded import recorded
from tracker.services.revision_text import ShownNames, revision_record
from tracker.services.told_by_bytes import Told

EXPORTED, SEEN, REMOVED, PROVED, RAN = "exported", "seen", "taken off", "proved", "ran"
MISSING = verdicts.MISSING
LIMIT = (
    "This shows what was proved, exported, collected and put down as run. It cannot know what the spindle ran, nor "
    "copies that nobody recorded: in a control's memory, on another stick, on a PC."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One thing the record knows of a revision's whereabouts.

    Attributes:
        what: ``exported`` to a stick, ``taken off`` it by a later export, ``seen`` on one that came home or that an export found
            it on, ``missing`` from one that came home, or that an export met, without it, ``proved`` or ``ran`` on a machine.
        at: when, as claimed.
        machine: the machine it was for, or was on; None where nobody knows.
        stick: the stick, None for a proof or a run.
        files: paths on the stick.
        job, operation: whose text the record names it as, which may be another that calls the same program.
        revision: the revision the record names (``r4``); another one where its code is the same.
        part: only programs that the text calls, its main program not among them.
        same_text: whether that is the revision asked for; False where only the code is the same.
        words: verdict, result, lot and quantity, as recorded.
        by: initials.
        record: path of the record; ``struck`` whether there is a line through it.
    """

    what: str
    at: datetime
    machine: str | None
    stick: str | None = None
    files: tuple[str, ...] = ()
    job: str | None = None
    operation: str | None = None
    revision: str | None
    same_text: bool
    part: bool = False
    words: str = ""
    by: str
    record: str
    struck: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class WhereReport:
    """Every place, in the order of the records; ``unreadable`` records that may have held more."""

    job: str
    operation: str
    revision: str
    places: tuple[Place, ...]
    timezone: str
    unreadable: tuple[str, ...] = ()

    @property
    def machines(self) -> tuple[str, ...]:
        """Machines the revision was for or on, each once; not those a program of it went to with another text."""
        return tuple(dict.fromkeys(one.machine for one in self.places if one.machine and not one.part))

    @property
    def sticks(self) -> tuple[str, ...]:
        """Sticks it was written to or seen on, each once; not those a program of it is on with another text."""
        return tuple(dict.fromkeys(one.stick for one in self.places if one.stick and not one.part))

    @property
    def parts(self) -> tuple[str, ...]:
        """Sticks that only hold programs it calls, as those of other texts."""
        held = dict.fromkeys(one.stick for one in self.places if one.stick and one.part)
        return tuple(stick for stick in held if stick not in self.sticks)


def where(desk: Desk, named: Named) -> WhereReport:
    """Where a revision went; the newest where none is named.

    Raises:
        BadCall: ``unknown-job``, ``unknown-operation``, ``which-operation``, ``unknown-revision``,
            ``ambiguous-revision``.
        CouldNot: what reading the repository raises.
    """
    found = recorded(desk, named)
    shown = ShownNames(found.ledger)
    look = _Look(
        found.stored, found.job, found.operation, struck(found.ledger), shown, Told.ever(found.ledger)
    )
    places = [place for stored in found.ledger.records for place in look.places(stored)]
    return WhereReport(
        job=found.job,
        operation=found.operation,
        revision=shown(found.job, found.operation, found.stored.name),
        places=tuple(sorted(places, key=lambda place: place.at)),
        timezone=found.ledger.shop.timezone,
        unreadable=tuple(f"{bad.path}: {bad.why}" for bad in found.ledger.unreadable),
    )


class _Look:
    """What is looked for in every record; they are handed in as they came."""

    def __init__(
        self, stored: Stored, job: str, operation: str, gone: frozenset[str], shown: ShownNames, told: Told
    ) -> None:
        record: RevisionRecord = revision_record(stored)
        self._name, self._shown = stored.name, shown
        self._job, self._operation = job, operation
        self._fingerprint = record.operation_fingerprint
        self._codes = {(file.path, file.fingerprint) for file in record.files}
        self._bytes = {file.raw_sha256 for file in record.files}
        self._main = record.files[0] if record.files else None
        self._gone = gone
        self._told = told
        self._wrote: dict[tuple[str, str], OnStick] = {}

    def places(self, stored: Stored) -> Iterator[Place]:
        """What one record knows."""
        record = stored.record
        if isinstance(record, ExportRecord):
            self._wrote |= {_place_of(record.stick, file): file for file in record.files}
            yield from self._on_stick(stored, EXPORTED, record.machine, record.stick, record.files)
            yield from self._on_stick(stored, REMOVED, record.machine, record.stick, record.removed)
            yield from self._on_stick(stored, SEEN, record.machine, record.stick, record.found)
            yield from self._on_stick(stored, MISSING, record.machine, record.stick, record.missing)
        elif isinstance(record, CollectRecord):
            there = tuple(file for file in self._told.files_of(record) if file.verdict != MISSING)
            yield from self._on_stick(stored, SEEN, record.machine, record.stick, there)
            yield from self._on_stick(stored, MISSING, record.machine, record.stick, self._lost(record))
        elif isinstance(record, ProofRecord) and (self._here(stored) or self._files_alike(record.files)):
            yield self._place(stored, PROVED, machine=record.machine, words=_proof_words(record))
        elif isinstance(record, RanRecord) and self._is_run(stored, record):
            quantity = None if record.quantity is None else f"{record.quantity} pieces"
            said = (f"lot {record.lot}" if record.lot else None, quantity, ", ".join(record.serials))
            yield self._place(stored, RAN, machine=record.machine, words=", ".join(filter(None, said)))

    def _lost(self, record: CollectRecord) -> tuple[OnStick, ...]:
        """What an export wrote and a collect missed, as the export named it: a collect had nothing to know it by."""
        lost = (_place_of(record.stick, file) for file in record.files if file.verdict == MISSING)
        return tuple(self._wrote[place] for place in lost if place in self._wrote)

    def _is_run(self, stored: Stored, record: RanRecord) -> bool:
        return self._here(stored) or record.operation_fingerprint == self._fingerprint

    def _here(self, stored: Stored) -> bool:
        return stored.record.revision == self._name and self._of_operation(
            stored.record.job, stored.record.operation
        )

    def _of_operation(self, job: str | None, operation: str | None) -> bool:
        return same_name(job, self._job) and same_name(operation, self._operation)

    def _files_alike(self, files: tuple[FileOf, ...]) -> bool:
        return bool(files) and all((file.path, file.fingerprint) in self._codes for file in files)

    def _on_stick(
        self, stored: Stored, what: str, machine: str | None, stick: str, files: tuple[OnStick, ...]
    ) -> Iterator[Place]:
        """A place for each revision and verdict the record names among the files that are this code."""
        groups: dict[tuple[str | None, str | None, str | None, str], list[OnStick]] = {}
        for file in files:
            exact = self._is_named(file)
            if (
                not (exact or self._alike(file)) or file.taken_as == self._name
            ):  # an edit is named as what it became
                continue
            groups.setdefault((file.job, file.operation, file.revision, file.verdict or ""), []).append(file)
        for (job, operation, revision, verdict), found in groups.items():
            exact = self._is_named(found[0])
            yield self._place(
                stored,
                what,
                machine=machine,
                stick=stick,
                files=tuple(file.path for file in found),
                named=(job, operation, revision),
                same_text=exact,
                part=not (exact or any(map(self._is_main, found))),
                words=verdict,
            )

    def _is_named(self, file: OnStick) -> bool:
        return file.revision == self._name and self._of_operation(file.job, file.operation)

    def _is_main(self, file: OnStick) -> bool:
        main = self._main
        return main is not None and (file.fingerprint == main.fingerprint or file.sha256 == main.raw_sha256)

    def _alike(self, file: OnStick) -> bool:
        return (file.program or "", file.fingerprint or "") in self._codes or file.sha256 in self._bytes

    def _place(
        self,
        stored: Stored,
        what: str,
        *,
        machine: str | None,
        stick: str | None = None,
        files: tuple[str, ...] = (),
        named: tuple[str | None, str | None, str | None] | None = None,
        same_text: bool | None = None,
        part: bool = False,
        words: str = "",
    ) -> Place:
        record = stored.record
        job, operation, revision = named or (record.job, record.operation, record.revision)
        return Place(
            what=what,
            at=record.at,
            machine=machine,
            stick=stick,
            files=files,
            job=job,
            operation=operation,
            revision=self._shown(job, operation, revision) if revision else None,
            same_text=self._here(stored) if same_text is None else same_text,
            part=part,
            words=words,
            by=record.by,
            record=stored.path,
            struck=stored.path in self._gone,
        )


def _place_of(stick: str, file: OnStick) -> tuple[str, str]:
    return stick.casefold(), file.path.casefold()


def _proof_words(record: ProofRecord) -> str:
    """``accepted, of T5, T6``: never one of some tools as if it were one of all."""
    what = f"of {tools_words(record.tools)}" if record.tools else "short form" if record.again else None
    paper = "on paper, before the record" if record.prior else None
    return ", ".join(filter(None, (record.result, what, paper)))
