"""The verdict on a file whose code is in the record: which text it is, and whether it still may be what it is.

Bytes that an export of the release that still is the latest wrote are ``as-exported``: that export derived the release, and
it is not derived once more for each file. For everything else, first hit (``mine`` are the texts with this code whose operations are for the machine):

1. Not for this machine, or its bytes were exported for another one only, or for one shop.toml has no more:
   ``other-machine``.
2. Its bytes were exported for a prove-out only: ``withdrawn`` where its revision is, else ``for-proving``.
3. Its bytes were exported for a deviation only: ``withdrawn`` where its revision is; ``as-exported`` while the hours of
   the deviation run; ``stale`` after that, whatever became of the text: its stamp says DEVIATION.
4. It is code of the text that is released now: ``as-exported`` by its bytes, else ``same-code``. Of a program several
   operations call it is said for which of those that went out with it another text is released.
5. Its revision is withdrawn: ``withdrawn``.
6. It is the newest revision, not released: ``for-proving``. Anything else known: ``stale``.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from tracker.nc.dialect import VERBATIM
from tracker.policy.days import words, zone_of
from tracker.policy.deviations import Deviation
from tracker.policy.find import label
from tracker.policy.states import HELD, PROVEN, REJECTED, Standing, standing_words
from tracker.policy.states import WITHDRAWN as IS_WITHDRAWN
from tracker.records.events import RevisionRecord
from tracker.records.shop import Machine, Shop
from tracker.services import collect_report as verdicts
from tracker.services.collect_base import BaseFinder
from tracker.services.collect_report import FileVerdict
from tracker.services.known import Exported, Found, Known, unreleased
from tracker.services.on_deviation import under_deviation
from tracker.services.ports_stick import DEVIATION, RELEASED
from tracker.services.usable import Board


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownCode:
    """Judges files whose code is known. ``deviations``: every one ever recorded, as it is today."""

    shop: Shop
    board: Board
    bases: BaseFinder
    deviations: Sequence[Deviation] = ()

    def judge(
        self, blank: FileVerdict, data: bytes | None, found: Found, machine: Machine | None
    ) -> FileVerdict:
        """The verdict; ``data`` None where the file is too long to be compared."""
        unchanged = self._unchanged(blank, found, machine)
        if unchanged is not None:
            return unchanged
        mine = [one for one in found.known if self.board.is_for(one.job, one.operation, machine)]
        here = [one for one in found.exported if machine is None or one.record.machine == machine.id]
        blank = replace(blank, unreleased=unreleased(here or found.exported))
        if not mine or (found.exported and not here):
            return self._elsewhere(blank, found, machine)
        if here and all(self.shop.machine(one.record.machine) is None for one in here):
            return self._elsewhere(blank, found, None)
        mine.sort(key=lambda one: one.stored.order)
        current = [one for one in mine if self.board.is_current(one)]
        if here and not any(one.record.purpose == RELEASED for one in here):
            apart = self._deviation if here[-1].record.purpose == DEVIATION else self._for_proving
            text = _sent(current or mine, here)
            return apart(blank, text, here[-1], released=self._is_released(text))
        if current:
            text = self._released_one(current, here, machine)
            verdict = self._sheet(self._current(blank, data, text, here, machine), mine, here, machine)
            return self._called(verdict, mine, here)
        text = _sent(mine, here)
        place = self.board.standing(text.stored, machine)
        if (
            place is not None and place.state == HELD
        ):  # of one operation: the same program may be another's too
            text = next((one for one in reversed(mine) if self._may_be_proved(one, machine)), text)
            place = self.board.standing(text.stored, machine)
        if place is not None and place.state == IS_WITHDRAWN:
            return said(blank, verdicts.WITHDRAWN, text, f"{place.reason}. {_TAKE_OFF}")
        if not self.board.is_newest(text):
            return self._stale(blank, text)
        state = f", {standing_words(place.state, place.reason)}" if place is not None else ""
        held = place is not None and place.state == HELD
        use = "Not even to be proved till that is lifted." if held else "For a prove-out only."
        return said(replace(blank, stopped=held), verdicts.FOR_PROVING, text, f"not released{state}. {use}")

    def _is_released(self, text: Known) -> bool:
        """Whether the text's revision is what is released; a program it has in common with that is not enough."""
        released = self.board.released(text.job, text.operation)
        return released is not None and _same_operation(released.record, text.record)

    def _sheet(
        self, verdict: FileVerdict, mine: Sequence[Known], here: Sequence[Exported], machine: Machine | None
    ) -> FileVerdict:
        """The verdict on released code, with what is to be said where it went out with another setup sheet."""
        text = verdict.known
        out = here[-1] if here else self.bases.last_export(text, machine) if text is not None else None
        names = [] if out is None else [out.file.revision]
        went = [one for one in mine if text is not None and one.stored.name in names and _beside(one, text)]
        if text is None or all(_same_sheet(one.record, text.record) for one in went):
            return verdict
        words = f"its setup sheet was changed since {label(went[-1].stored.name)}: export again"
        return replace(verdict, aside=verdicts.SHEET, message=f"{verdict.message}; {words}")

    def _called(self, verdict: FileVerdict, mine: Sequence[Known], here: Sequence[Exported]) -> FileVerdict:
        """The verdict on released code, with the operations that went out with it and are released with another text."""
        went = {(file.job, file.operation) for one in here for file in one.record.files}
        others = self.board.have_another([one for one in mine if (one.job, one.operation) in went])
        if not others:
            return verdict
        words = ", ".join(f"{one.spelled} (release {one.release})" for one in others)
        message = f"{verdict.message}; out of date for {words}, released with another text of it"
        return replace(verdict, aside=verdicts.CALLED, message=message)

    def _may_be_proved(self, text: Known, machine: Machine | None) -> bool:
        place = self.board.standing(text.stored, machine)
        stopped = place is not None and place.state in (HELD, IS_WITHDRAWN)
        return not stopped and self.board.is_newest(text)

    def written_on(self, out: Exported) -> str:
        """``r1, written 6 Feb 2026 by ss``."""
        day = words(out.record.entered.astimezone(zone_of(self.shop)).date())
        return f"{label(out.file.revision)}, written {day} by {out.record.by}"

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
        text = _sent(found.known, found.exported)
        on = ", ".join(dict.fromkeys(one.record.machine for one in found.exported)) or ", ".join(
            self.board.machines(text.job, text.operation)
        )
        gone = found.exported and not any(self.shop.machine(one.record.machine) for one in found.exported)
        place = machine.id if machine else "this machine"
        why = "which is no machine of shop.toml any more" if gone else f"not for {place}"
        return said(
            blank,
            verdicts.OTHER_MACHINE,
            text,
            f"for {on or 'another machine'}, {why}; take it off here",
        )

    def _for_proving(self, blank: FileVerdict, text: Known, out: Exported, *, released: bool) -> FileVerdict:
        place = self.board.standing(text.stored, self.shop.machine(out.record.machine))
        state = place.state if place is not None else None
        if place is not None and state == IS_WITHDRAWN:
            return said(blank, verdicts.WITHDRAWN, text, f"{place.reason}. {_TAKE_OFF}")
        proven = "; proven by now: have it released" if state == PROVEN else ""
        since = _plainly(place) if released else proven
        newer = "" if self.board.is_newest(text) else "; a newer revision is there"
        stop = f"; stopped since: {place.reason}" if place and state in (HELD, REJECTED) else ""
        return said(
            replace(blank, stopped=state == HELD),
            verdicts.FOR_PROVING,
            text,
            f"{self.written_on(out)}, UNPROVEN, for its prove-out only{_silent(text)}{stop}{since}{newer}",
        )

    def _deviation(self, blank: FileVerdict, text: Known, out: Exported, *, released: bool) -> FileVerdict:
        """Rule 3."""
        machine = self.shop.machine(out.record.machine)
        place = self.board.standing(text.stored, machine)
        if place is not None and place.state == IS_WITHDRAWN:
            return said(blank, verdicts.WITHDRAWN, text, f"{place.reason}. {_TAKE_OFF}")
        under = under_deviation(self.shop, self.deviations, text, out)
        went = f"{self.written_on(out)}, NOT RELEASED, {under.when}{_silent(text)}"
        since = _plainly(place) if released else ""
        if not under.runs:
            message = f"{went}{since}. How many parts were made? {_TAKE_OFF}"
            return said(blank, verdicts.STALE, text, message)
        owed = "; a second person is owed" if under.owing else ""
        stop = f"; stopped since: {place.reason}" if place and place.state in (HELD, REJECTED) else ""
        blank = replace(blank, stopped=bool(stop))
        return said(blank, verdicts.AS_EXPORTED, text, f"{went}{owed}{stop}{since}")

    def _unchanged(self, blank: FileVerdict, found: Found, machine: Machine | None) -> FileVerdict | None:
        """``as-exported`` without the release being derived again; None where that cannot be told."""
        here = [one for one in found.exported if machine is not None and one.record.machine == machine.id]
        if not here or here[-1].record.purpose != RELEASED or here[-1].file.release is None:
            return None
        out = here[-1].file
        texts = [one for one in found.known if one.stored.name == out.revision]
        if len(texts) != 1 or any(
            (one.job, one.operation) != (out.job, out.operation) for one in found.known
        ):
            return None
        text = texts[0]
        if self.board.last_tag(text.job) != out.release:
            return None
        place = self.board.standing(text.stored, machine)
        if (
            place is None
            or place.state == IS_WITHDRAWN
            or not self.board.is_for(text.job, text.operation, machine)
        ):
            return None
        return self._written(blank, text, here[-1], f"release {out.release}", machine)

    def _written(
        self, blank: FileVerdict, text: Known, out: Exported, number: str, machine: Machine | None
    ) -> FileVerdict:
        stop, newer = self._today(text, machine)
        message = f"{self.written_on(out)}, {number}{stop}{newer}"
        return said(replace(blank, stopped=bool(stop)), verdicts.AS_EXPORTED, text, message)

    def _today(self, text: Known, machine: Machine | None) -> tuple[str, str]:
        """What is to be said of a released text today: why it may not run any more; that the office has a newer one."""
        place = self.board.standing(text.stored, machine)
        stop = "" if place is None or place.usable else f"; may not run today: {place.reason}"
        return stop, "" if self.board.is_newest(text) else "; the office has a newer revision"

    def _current(
        self,
        blank: FileVerdict,
        data: bytes | None,
        text: Known,
        here: Sequence[Exported],
        machine: Machine | None,
    ) -> FileVerdict:
        released = self.board.released(text.job, text.operation)
        number = f"release {released.release}" if released else "not released"
        if here:
            went = here[-1].file.release
            if released and went is not None and went != released.release:
                same = text.stored.name == here[-1].file.revision
                as_it_is = "it" if same else f"the same code as {label(text.stored.name)}"
                number = f"release {went}; {number} holds {as_it_is} too"
            return self._written(blank, text, here[-1], number, machine)
        stop, newer = self._today(text, machine)
        blank = replace(blank, stopped=bool(stop))
        if data is None:
            kinds: tuple[str, ...] = ()
            how = "too long to be compared further"
        else:
            kinds = self._kinds(text, data, machine)
            how = (
                f"differs in {', '.join(kinds)} only" if kinds else "as it lies in the office, never exported"
            )
        found = said(
            blank,
            verdicts.SAME_CODE,
            text,
            f"same code as {label(text.stored.name)}, {number}; {how}{stop}{newer}",
        )
        return replace(found, kinds=kinds)

    def _stale(self, blank: FileVerdict, text: Known) -> FileVerdict:
        newer = self.board.superseding(text)
        by = f"; {newer}" if newer else ""
        if not text.stored.in_hand:
            away = f"a revision of another branch, which is not brought together with this one{by}"
            return said(blank, verdicts.STALE, text, f"{away}. Not to be run.")
        return said(
            blank,
            verdicts.STALE,
            text,
            f"an older revision{by}. Were parts made with it since? Take it off the stick.",
        )

    def _kinds(self, text: Known, data: bytes, machine: Machine | None) -> tuple[str, ...]:
        """How a file of the same code differs from what was exported to the machine, else from the record."""
        from tracker.nc.compare import compare  # an unchanged stick does not pay for it

        base = self.bases.as_sent(text, machine)
        return compare(base, data, strict=text.record.strict, lathe=is_lathe(machine)).kinds if base else ()


_TAKE_OFF = "Take it off the stick and the control."


def _plainly(place: Standing | None) -> str:
    """Of a text that is released: that it goes out plainly now, where an export would let it."""
    if place is None or place.usable:
        return "; it is released: export it plainly"
    stopped = place.state in (HELD, REJECTED)  # which is said already
    return "" if stopped else f"; it is released, and may not run here: {place.reason}"


def _silent(text: Known) -> str:
    """That its own text does not say that it is not released."""
    return " (its text cannot say so)" if text.file.dialect == VERBATIM else ""


def _beside(one: Known, text: Known) -> bool:
    return (one.job, one.operation) == (text.job, text.operation)


def _same_sheet(one: RevisionRecord, other: RevisionRecord) -> bool:
    return one.sheet_fingerprint == other.sheet_fingerprint


def _same_operation(one: RevisionRecord, other: RevisionRecord) -> bool:
    return one.operation_fingerprint == other.operation_fingerprint


def said(blank: FileVerdict, verdict: str, text: Known, message: str) -> FileVerdict:
    """``blank`` with a verdict about a text of the record."""
    return replace(
        blank,
        verdict=verdict,
        job=text.job,
        operation=text.operation,
        revision=label(text.stored.name),
        known=text,
        message=message,
    )


def is_lathe(machine: Machine | None) -> bool | None:
    """Whether texts for the machine are read with lathe meanings; None: as their words say."""
    return None if machine is None else machine.type == "lathe"


def _sent(texts: Sequence[Known], here: Sequence[Exported]) -> Known:
    """Of several texts with one code the one that was exported, else the newest."""
    names = {(one.file.job, one.file.operation, one.file.revision) for one in here}
    sent = (one for one in reversed(texts) if (one.job, one.operation, one.stored.name) in names)
    return next(sent, texts[-1])
