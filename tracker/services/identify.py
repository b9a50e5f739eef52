"""``identify``: what a file is, by its content: job, operation, revision, what is newer, whether it may run here.

A file may run on a machine where its code is that of a text released now for it whose standing there is usable today.
Not where its bytes were exported for a prove-out or a deviation only, or for another machine only. What cannot be told is a no.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from tracker.nc.compare import compare, with_slower
from tracker.policy.deviations import STOPS, Deviation, deviations
from tracker.policy.find import label, number_of
from tracker.records.shop import Machine, Shop
from tracker.services.collect_base import LEAST_ALIKE, Base, BaseFinder, another_program, lost_words
from tracker.services.collect_dump import programs_in
from tracker.services.collect_hints import proof_comment
from tracker.services.collect_look import COMPARED
from tracker.services.collect_remarks import end_marks
from tracker.services.cut_off import cut_off, parted, shortened, to_find
from tracker.services.desk import Desk
from tracker.services.id_line import whose_id
from tracker.services.known import Found, Known, KnownTexts
from tracker.services.long_files import LongFile, look_up, whole_bytes
from tracker.services.machine_named import machine_named
from tracker.services.on_deviation import under_deviation
from tracker.services.ports_stick import DEVIATION, RELEASED, Shaper
from tracker.services.progress import Tell, phase, pieces_told, quiet, told
from tracker.services.usable import Board

KNOWN = "known"
CHANGED = "changed"
UNKNOWN = "unknown"
PIECE = 1 << 23
"""Bytes; a longer file is looked up in pieces."""
FOR_PROVE_OUT = "went out for its prove-out only"


@dataclass(frozen=True, slots=True, kw_only=True)
class Identified:
    """What one file is.

    Attributes:
        file: as it was named.
        identity: ``known`` (this code is in the record), ``changed`` (it shares code with a text of it), ``unknown``.
        sha256: of its bytes.
        job: and ``operation``, ``revision`` (``r5``), ``program`` (path in the repository): what it is or was.
        display_id: the 8 digits of that operation.
        same_bytes: equal to the last byte to the recorded text.
        kinds: how it differs from the recorded text, sorted.
        newer: revisions of the operation that are newer.
        release: the release that holds this code now, None if none does.
        may_run: whether it may run on the machine.
        why: the reason of that, in words.
        also: other operations with the same text.
        programs: the programs of that revision, main first.
        hint: what a comment in it claims, None where none does. It proves nothing.
    """

    file: str
    identity: str
    sha256: str
    dialect: str
    why: str
    may_run: bool = False
    job: str | None = None
    operation: str | None = None
    revision: str | None = None
    program: str | None = None
    display_id: str | None = None
    same_bytes: bool = False
    kinds: tuple[str, ...] = ()
    newer: tuple[str, ...] = ()
    release: int | None = None
    also: tuple[str, ...] = ()
    programs: tuple[str, ...] = ()
    hint: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class IdentifyReport:
    """All files, each program of one that holds several by itself; ``machine`` None when nobody said which."""

    machine: str | None
    files: tuple[Identified, ...]

    @property
    def motion_may_follow(self) -> bool:
        """Whether a file may run on the machine, or is there to be proved on it."""
        return any(one.may_run or one.why == FOR_PROVE_OUT for one in self.files)

    @property
    def all_may_run(self) -> bool:
        """Whether every file may run on the machine."""
        return bool(self.files) and all(one.may_run for one in self.files)


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedFile:
    """A file as a person named it; of a ``long`` one ``data`` are only the bytes it begins with."""

    name: str
    data: bytes
    long: LongFile | None = None


def identify(
    desk: Desk, shaper: Shaper, files: Sequence[NamedFile], machine: str | None, tell: Tell = quiet
) -> IdentifyReport:
    """Say of every file what it is; ``tell`` is told each of them.

    Raises BadCall (``unknown-machine``) and CouldNot where the repository cannot be read.
    """
    phase(tell, "reading the records")
    ledger = desk.repo.ledger()
    here = machine_named(ledger.shop, machine) if machine is not None else None
    known = KnownTexts(desk.repo, ledger)
    board = Board(desk, ledger)
    over = deviations(ledger, desk.clock.now())
    teller = _Teller(known, board, BaseFinder(known, board, shaper), shaper, ledger.shop, over, here, tell)
    each = told(files, lambda file: f"looking up {file.name}", tell)
    found = tuple(one for file in each for one in teller.tell(file))
    return IdentifyReport(machine=here.id if here else None, files=found)


class _Teller:
    """Tells of one file after the other."""

    def __init__(
        self,
        known: KnownTexts,
        board: Board,
        bases: BaseFinder,
        shaper: Shaper,
        shop: Shop,
        over: Sequence[Deviation],
        machine: Machine | None,
        tell: Tell,
    ) -> None:
        self._tell = tell
        self._known = known
        self._board = board
        self._bases = bases
        self._shaper = shaper
        self._shop = shop
        self._deviations = over
        self._machine = machine

    def tell(self, file: NamedFile) -> Iterator[Identified]:
        """What the file is; of one that holds several programs, what each of them is."""
        if file.long is None:
            yield from self._told_whole(file, self._content(file))
        else:
            yield from self._told_long(file, file.long)

    def _told_long(self, file: NamedFile, long: LongFile) -> Iterator[Identified]:
        """The same of one that is read in pieces, and whole only where it has to be compared."""
        found, lines = look_up(self._known, long)
        if lines and long.size <= COMPARED:
            data = whole_bytes(long, found.sha256)
            yield from self._told_whole(NamedFile(name=file.name, data=data), found)
        elif found.known:
            yield self._told_known(self._blank(file, found), file, found)
        else:
            words = "nothing in the record has this code; too long to be compared"
            yield replace(self._blank(file, found), why=words)

    def _told_whole(self, file: NamedFile, found: Found) -> Iterator[Identified]:
        if found.known:
            yield self._told_known(self._blank(file, found), file, found)
            return
        base = self._bases.base_of(to_find(file.data), file.name.replace("\\", "/"), self._machine)
        parts = programs_in(file.data, base, self._known)
        for part in parts:
            name, text = f"{file.name}#O{part.number:04}", file.data[part.start : part.end]
            yield self._told_alone(NamedFile(name=name, data=text))
        if not parts:
            yield self._told_changed(file, found, base)

    def _content(self, file: NamedFile) -> Found:
        """What its bytes are; of a long one it is told how much was looked at."""
        if len(file.data) <= PIECE:
            return self._known.content(file.data)
        words = f"looking up {file.name}"
        return self._known.content_of(lambda: pieces_told(file.data, words, self._tell, PIECE))

    def _told_alone(self, file: NamedFile) -> Identified:
        """One of several programs; the name of the file they lie in says nothing."""
        found = self._known.content(file.data)
        if found.known:
            return self._told_known(self._blank(file, found), file, found)
        return self._told_changed(file, found, self._bases.base_of(to_find(file.data), "", self._machine))

    def _blank(self, file: NamedFile, found: Found) -> Identified:
        return Identified(
            file=file.name, identity=UNKNOWN, sha256=found.sha256, dialect=found.dialect, why=""
        )

    def _told_changed(self, file: NamedFile, found: Found, base: Base | None) -> Identified:
        blank = self._blank(file, found)
        hint = proof_comment(file.data, base.data if base else None)
        why = _not_whole(file.data, base) if base is not None else None
        if base is not None and why is not None and base.within >= LEAST_ALIKE:
            return replace(self._named(blank, base.known), identity=CHANGED, why=why, hint=hint)
        if base is None or another_program(base) or found.dialect != base.known.file.dialect:
            lost = self._bases.lost(file.data, file.name.replace("\\", "/"), self._machine)
            strange = None if lost else self._known.strange_mark(self._shaper.marks(file.data))
            more = f"; {lost_words(lost)}" if lost else f". {strange}" if strange else ""
            words = f"nothing in the record has this code{more}"
            return replace(blank, why=words, hint=hint)
        strict = base.known.record.strict
        compared = compare(base.data, file.data, strict=strict, lathe=self._lathe())
        marks = end_marks(base.data, file.data, strict=strict, lathe=self._lathe())
        less = shortened(file.data, base.data)
        return replace(
            self._named(blank, base.known),
            identity=CHANGED,
            kinds=with_slower(compared, self._shop.policy.slower_percent).kinds,
            why=f"this text is in no record: its code was changed{self._not_here(base.known)}"
            + (f". {marks}" if marks else "")
            + (f". Not whole, or cut down at the control: {less}" if less else ""),
            hint=hint,
        )

    def _told_known(self, blank: Identified, file: NamedFile, found: Found) -> Identified:
        mine = [one for one in found.known if self._board.is_for(one.job, one.operation, self._machine)]
        texts = sorted(mine or found.known, key=self._rank)
        best = texts[-1]
        same_bytes = any(one.stored.name == best.stored.name for one in found.same_bytes)
        data = None if same_bytes or file.long else self._bases.as_sent(best, self._machine)
        kinds = compare(data, file.data, strict=best.record.strict, lathe=self._lathe()).kinds if data else ()
        released = self._board.released(best.job, best.operation)
        may_run, why = self._may_run(best, found, for_machine=bool(mine))
        also = {f"{one.job}/{one.operation}" for one in texts} - {f"{best.job}/{best.operation}"}
        others = self._board.have_another(mine) if may_run else ()
        if others:
            why += f"; not for {', '.join(one.spelled for one in others)}, released with another text of it"
        stop = self._id_of_another(file.data, found)
        if stop:
            may_run, why = False, stop if may_run else f"{why}; {stop}"
        return replace(
            self._named(blank, best),
            identity=KNOWN,
            same_bytes=same_bytes,
            kinds=kinds,
            release=released.release if released and self._board.is_current(best) else None,
            may_run=may_run,
            why=why + self._sheet(best, file.data, found),
            also=tuple(sorted(also)),
            hint=proof_comment(file.data, data) if data else None,
        )

    def _id_of_another(self, data: bytes, found: Found) -> str | None:
        """Why a text may not run for what is read back at the machine; bytes an export wrote are as they are to be."""
        marks = () if found.exported else self._shaper.marks(data)
        other = whose_id(self._known, marks, found.known)
        if other is not None:
            return f"its id line is that of {other}: export it again"
        return self._known.strange_mark(marks)

    def _sheet(self, text: Known, data: bytes, found: Found) -> str:
        """That the setup sheet was changed since the text went out, by the export of its bytes, else by its stamp."""
        names = {one.file.revision for one in found.exported}
        if not names:
            names = {
                one.stored.name for mark in self._shaper.marks(data) for one in self._known.by_mark(mark)
            }
        went = [one for one in self._known.of(text.job, text.operation) if one.stored.name in names]
        if not went or any(one.record.sheet_fingerprint == text.record.sheet_fingerprint for one in went):
            return ""
        return f"; it went out as {label(went[-1].stored.name)}, and its setup sheet was changed since: export again"

    def _not_here(self, text: Known) -> str:
        """That an edit is one of a text for other machines."""
        if self._machine is None or self._board.is_for(text.job, text.operation, self._machine):
            return ""
        machines = ", ".join(self._board.machines(text.job, text.operation))
        return f", and {text.job}/{text.operation} is for {machines}, not for {self._machine.id}"

    def _named(self, blank: Identified, text: Known) -> Identified:
        of = self._known.of(text.job, text.operation)
        newer = {one.stored.name: one.stored for one in of if one.number > text.number}
        return replace(
            blank,
            job=text.job,
            operation=text.operation,
            revision=label(text.stored.name),
            program=text.file.path,
            display_id=text.record.operation_fingerprint[:8].upper(),
            newer=tuple(
                self._board.shown(newer[name])
                for name in sorted(newer, key=lambda one: (number_of(one), one))
            ),
            programs=tuple(file.name for file in text.record.files),
        )

    def _may_run(self, text: Known, found: Found, *, for_machine: bool) -> tuple[bool, str]:
        if self._machine is None:
            return False, "on which machine? say --machine"
        place = self._machine.id
        if not for_machine:
            machines = ", ".join(self._board.machines(text.job, text.operation)) or "no machine"
            return False, f"{text.job}/{text.operation} is for {machines}, not for {place}"
        if found.exported and not any(one.record.machine == place for one in found.exported):
            return False, f"was written for {found.exported[-1].record.machine}: export it for {place}"
        apart = self._only_apart(text, found, place)
        if apart is not None:
            return False, apart
        standing = self._board.standing(text.stored, self._machine)
        reason = standing.reason if standing is not None else ""
        if not self._board.is_current(text):
            newer = self._board.superseding(text)
            stop = "" if standing is None or standing.usable else f"{reason}; "
            return False, f"{stop}{newer or 'not released'}"
        released = self._board.released(text.job, text.operation)
        standing = self._board.standing(released.stored, self._machine) if released else None
        if released is None or standing is None or not standing.usable:
            return False, standing.reason if standing is not None else "not released"
        return True, f"{standing.reason} (release {released.release})"

    def _only_apart(self, text: Known, found: Found, place: str) -> str | None:
        """Why these bytes are not for plain runs: they went to the machine for a prove-out or a deviation only."""
        here = [one for one in found.exported if one.record.machine == place]
        if not here or any(one.record.purpose == RELEASED for one in here):
            return None
        if here[-1].record.purpose != DEVIATION:
            return FOR_PROVE_OUT
        under = under_deviation(self._shop, self._deviations, text, here[-1])
        stands = self._board.standing(text.stored, self._machine) if under.runs else None
        if stands is not None and stands.state in STOPS:
            return f"went out under a deviation, and was stopped since: {stands.reason}"
        owed = ", a second person is owed" if under.owing else ""
        return f"went out {under.when}{f': only for that{owed}' if under.runs else ''}"

    def _rank(self, text: Known) -> tuple[bool, bool, bool, int]:
        """Last is best: released code, that very revision, standing usable, newest."""
        released = self._board.released(text.job, text.operation)
        standing = self._board.standing(text.stored, self._machine)
        return (
            self._board.is_current(text),
            standing is not None and standing.usable,
            released is not None and released.stored.name == text.stored.name,
            text.stored.order,
        )

    def _lathe(self) -> bool | None:
        return None if self._machine is None else self._machine.type == "lathe"


def _not_whole(data: bytes, base: Base) -> str | None:
    """Why a text that was ``base`` is not whole, and what to do; None where nothing speaks for it."""
    cut = cut_off(data, base.data)
    again = None if cut is None else f"{cut}: it is not whole; read it out of the control again"
    return parted(data, base.data) or again
