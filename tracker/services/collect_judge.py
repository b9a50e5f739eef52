"""The verdict on one file: by its content first, by its name second.

Rules, first hit (``mine`` are the texts of the record with this code whose operations are for the machine):

1. It cannot be read, or is no text where one of ours should be: ``damaged``. Links and devices are not opened.
2. Its code is known. Not for this machine, or its bytes were exported for another one only: ``other-machine``.
3. Its bytes were exported for a prove-out only: ``for-proving``.
4. It is code of the text that is released now: ``as-exported`` by its bytes, else ``same-code``.
5. Its revision is withdrawn: ``withdrawn``.
6. It is the newest revision, not released: ``for-proving``. Anything else known: ``stale``.
7. Its code is not known. The end is missing: ``incomplete``. It shares code with a text of ours: ``changed-code``.
8. Nothing of that: ``unknown``.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from tracker.errors import CouldNot
from tracker.nc.calls import program_numbers
from tracker.nc.compare import compare, with_slower
from tracker.policy.days import words, zone_of
from tracker.policy.find import label
from tracker.policy.states import WITHDRAWN as IS_WITHDRAWN
from tracker.records.shop import Machine, Shop
from tracker.services import collect_report as verdicts
from tracker.services.collect_base import LEAST_ALIKE, Base, BaseFinder
from tracker.services.collect_report import FileVerdict
from tracker.services.cut_off import cut_off, without_half_end
from tracker.services.known import Exported, Found, Known, KnownTexts
from tracker.services.ports_stick import FOR_PROVING, Medium, Seen
from tracker.services.stick_view import Home, written
from tracker.services.usable import Board

LARGEST = 512 * 1024 * 1024
"""Files above this many bytes are hashed and not compared."""
VERBATIM = "verbatim"


@dataclass(frozen=True, slots=True, kw_only=True)
class Judge:
    """Judges the files of one stick."""

    shop: Shop
    known: KnownTexts
    board: Board
    bases: BaseFinder

    def judge(self, medium: Medium, seen: Seen, home: Home | None) -> FileVerdict:
        """The verdict on one file; raises CouldNot (``medium-gone``) only when the whole stick is gone."""
        blank = FileVerdict(file=written(seen.path), verdict=verdicts.UNKNOWN, message="", path=seen.path)
        blank = replace(blank, machine=home.machine.id if home else None)
        if seen.kind != "file":
            return _not_opened(blank, seen)
        machine = home.machine if home else None
        try:
            if seen.size > LARGEST:
                return self._large(blank, medium.digest(seen.path))
            data = medium.read(seen.path)
        except CouldNot as fault:
            if fault.name != "unreadable-file":
                raise
            return replace(blank, verdict=verdicts.DAMAGED, message=fault.what)
        found = self.known.content(data)
        blank = replace(blank, sha256=found.sha256)
        if found.known:
            return self._known_code(blank, data, found, machine)
        place = f"{home.machine.folder_name}/{home.inside(seen.path)}" if home else seen.path
        return self._unknown_code(blank, data, found, machine, place)

    def _large(self, blank: FileVerdict, sha256: str) -> FileVerdict:
        exported = self.known.exported(sha256)
        if not exported:
            return replace(blank, sha256=sha256, message="too large to be compared, and no export wrote it")
        file = exported[-1].file
        return replace(
            blank,
            sha256=sha256,
            verdict=verdicts.AS_EXPORTED,
            job=file.job,
            operation=file.operation,
            revision=label(file.revision),
            release=file.release,
            message=f"{self._written_on(exported[-1])}; too large to be compared, judged by its bytes alone",
        )

    def _known_code(
        self, blank: FileVerdict, data: bytes, found: Found, machine: Machine | None
    ) -> FileVerdict:
        mine = [one for one in found.known if self.board.is_for(one.job, one.operation, machine)]
        here = [one for one in found.exported if machine is None or one.record.machine == machine.id]
        if not mine or (found.exported and not here):
            return self._elsewhere(blank, found, machine)
        mine.sort(key=lambda one: one.stored.order)
        current = [one for one in mine if self.board.is_current(one)]
        if here and all(one.record.purpose == FOR_PROVING for one in here):
            return self._for_proving(blank, _sent(current or mine, here), here[-1], released=bool(current))
        if current:
            return self._current(blank, data, self._released_one(current, here, machine), here, machine)
        text = _sent(mine, here)
        place = self.board.standing(text.stored, machine)
        if place is not None and place.state == IS_WITHDRAWN:
            return _said(
                blank, verdicts.WITHDRAWN, text, f"{place.reason}. Take it off the stick and the control."
            )
        if self.board.is_newest(text):
            state = f": {place.reason}" if place is not None else ""
            return _said(blank, verdicts.FOR_PROVING, text, f"not released{state}. For a prove-out only.")
        return self._stale(blank, text)

    def _released_one(
        self, current: Sequence[Known], here: Sequence[Exported], machine: Machine | None
    ) -> Known:
        """Of several texts with one code a released one: one that may run, in the operation it went out for."""
        sent = {(one.file.job, one.file.operation) for one in here}

        def rank(text: Known) -> tuple[bool, bool, bool, int]:
            released = self.board.released(text.job, text.operation)
            place = self.board.standing(text.stored, machine)
            return (
                released is not None and released.stored.name == text.stored.name,
                place is not None and place.usable,
                (text.job, text.operation) in sent,
                text.stored.order,
            )

        return max(current, key=rank)

    def _elsewhere(self, blank: FileVerdict, found: Found, machine: Machine | None) -> FileVerdict:
        text = found.known[-1]
        on = ", ".join(dict.fromkeys(one.record.machine for one in found.exported)) or ", ".join(
            self.board.machines(text.job, text.operation)
        )
        place = machine.id if machine else "this machine"
        return _said(
            blank,
            verdicts.OTHER_MACHINE,
            text,
            f"for {on or 'another machine'}, not for {place}; take it off here",
        )

    def _for_proving(self, blank: FileVerdict, text: Known, out: Exported, *, released: bool) -> FileVerdict:
        since = "; released since, export it plainly" if released else ""
        newer = "" if self.board.is_newest(text) else "; a newer revision is there"
        return _said(
            blank,
            verdicts.FOR_PROVING,
            text,
            f"{self._written_on(out)}, for its prove-out only{since}{newer}",
        )

    def _current(
        self, blank: FileVerdict, data: bytes, text: Known, here: Sequence[Exported], machine: Machine | None
    ) -> FileVerdict:
        released = self.board.released(text.job, text.operation)
        number = f"release {released.release}" if released else "not released"
        place = self.board.standing(text.stored, machine)
        stop = "" if place is None or place.usable else f"; may not run today: {place.reason}"
        newer = "" if self.board.is_newest(text) else "; the office has a newer revision"
        if here:
            return _said(
                blank, verdicts.AS_EXPORTED, text, f"{self._written_on(here[-1])}, {number}{stop}{newer}"
            )
        kinds = self._kinds(text, data, machine)
        how = f"differs in {', '.join(kinds)} only" if kinds else "as it lies in the office, never exported"
        said = _said(
            blank,
            verdicts.SAME_CODE,
            text,
            f"same code as {label(text.stored.name)}, {number}; {how}{stop}{newer}",
        )
        return replace(said, kinds=kinds)

    def _stale(self, blank: FileVerdict, text: Known) -> FileVerdict:
        newer = self.board.superseding(text)
        by = f"; {newer}" if newer else ""
        return _said(
            blank,
            verdicts.STALE,
            text,
            f"an older revision{by}. Were parts made with it since? Take it off the stick.",
        )

    def _kinds(self, text: Known, data: bytes, machine: Machine | None) -> tuple[str, ...]:
        """How a file of the same code differs from what was exported to the machine, else from the record."""
        base = self.bases.as_sent(text, machine)
        return compare(base, data, strict=text.record.strict, lathe=_lathe(machine)).kinds if base else ()

    def _unknown_code(
        self, blank: FileVerdict, data: bytes, found: Found, machine: Machine | None, place: str
    ) -> FileVerdict:
        whole_lines = without_half_end(data)
        base = self.bases.base_of(whole_lines, place, machine)
        if base is None:
            cut = cut_off(data)
            if cut is not None and (data == b"" or b"%" in data[:512]):
                return replace(blank, verdict=verdicts.INCOMPLETE, message=f"{cut}; read it out again")
            return replace(blank, message=_no_text(found))
        if whole_lines == data and found.dialect == VERBATIM and base.known.file.dialect != VERBATIM:
            return _said(
                blank,
                verdicts.DAMAGED,
                base.known,
                "no text a control could have written lies under this name",
            )
        cut = cut_off(data, base.data)
        if cut is not None and (base.within >= LEAST_ALIKE or base.within == 0):
            return _said(
                blank,
                verdicts.INCOMPLETE,
                base.known,
                f"{cut}: the transfer was cut; read it out of the control again",
            )
        if base.alike < LEAST_ALIKE:
            numbers = [f"O{number:04}" for number in program_numbers(data)[:1]] or [
                f"the name {written(place)}"
            ]
            return replace(
                blank,
                message=f"another program under {numbers[0]}: it shares {base.alike:.0%} of its code with "
                f"{base.known.job}/{base.known.operation}",
            )
        return self._changed(blank, data, base, machine)

    def _changed(self, blank: FileVerdict, data: bytes, base: Base, machine: Machine | None) -> FileVerdict:
        found = compare(base.data, data, strict=base.known.record.strict, lathe=_lathe(machine))
        shown = with_slower(found, self.shop.policy.slower_percent)
        said = _said(
            blank,
            verdicts.CHANGED_CODE,
            base.known,
            f"the code was changed since {label(base.known.stored.name)}: {', '.join(shown.kinds)}. "
            "Who edited it, why, and was it cut?",
        )
        return replace(said, kinds=shown.kinds, changes=shown.changes)

    def _written_on(self, out: Exported) -> str:
        day = words(out.record.entered.astimezone(zone_of(self.shop)).date())
        return f"{label(out.file.revision)}, written {day} by {out.record.by}"


def _not_opened(blank: FileVerdict, seen: Seen) -> FileVerdict:
    if seen.kind == "closed":
        return replace(blank, verdict=verdicts.DAMAGED, message=f"cannot be opened: {seen.why}")
    what = "a link" if seen.kind == "link" else "a device or pipe"
    return replace(blank, message=f"{what}: not opened")


def _no_text(found: Found) -> str:
    return "nothing in the record has this code or this name" + (
        "; no NC text in words and addresses" if found.dialect == VERBATIM else ""
    )


def _sent(texts: Sequence[Known], here: Sequence[Exported]) -> Known:
    """Of several texts with one code the one that was exported, else the newest."""
    names = {(one.file.job, one.file.operation, one.file.revision) for one in here}
    sent = (one for one in reversed(texts) if (one.job, one.operation, one.stored.name) in names)
    return next(sent, texts[-1])


def _said(blank: FileVerdict, verdict: str, text: Known, message: str) -> FileVerdict:
    return replace(
        blank,
        verdict=verdict,
        job=text.job,
        operation=text.operation,
        revision=label(text.stored.name),
        known=text,
        message=message,
    )


def _lathe(machine: Machine | None) -> bool | None:
    return None if machine is None else machine.type == "lathe"
