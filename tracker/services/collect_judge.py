"""The verdict on one file: by its content first, by its name second.

Rules, first hit:

1. It cannot be read, or is no text where one of ours should be: ``damaged``. Links and devices are not opened.
2. Its code is known: `tracker.services.collect_known` says what it is.
3. It holds several programs and is no text of ours, nor one edited: each of them is judged by itself, and the file is
   what the gravest of them is (`tracker.services.collect_dump`).
4. The end is missing, or much of its code is: ``incomplete``. It shares code with a text of ours: ``changed-code``.
5. Nothing of that: ``unknown``.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from tracker.errors import CouldNot
from tracker.nc.calls import program_numbers
from tracker.policy.find import label
from tracker.policy.spelled import counted
from tracker.policy.states import HELD, REJECTED, WITHDRAWN
from tracker.records.shop import Machine, Shop
from tracker.services import collect_report as verdicts
from tracker.services.collect_base import LEAST_ALIKE, Base, BaseFinder, another_program, lost_words
from tracker.services.collect_dump import Part, programs_in
from tracker.services.collect_hints import proof_comment, settings_only
from tracker.services.collect_known import KnownCode, is_lathe, said
from tracker.services.collect_look import Look, whole
from tracker.services.collect_operation import Operation
from tracker.services.collect_remarks import end_marks, remarks
from tracker.services.collect_report import FileVerdict
from tracker.services.cut_off import cut_off, half_block, parted, shortened, to_find, without_half_end
from tracker.services.id_line import whose_id
from tracker.services.known import Found, Known, KnownTexts, unreleased
from tracker.services.ports_stick import SUBFOLDERS, Medium, Seen, Shaper
from tracker.services.stick_view import Home, written

VERBATIM = "verbatim"
MOST_NAMED = 12
"""Programs of a dump named in its message."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judge:
    """Judges the files of one stick.

    ``now``: a job's operation as it is in the office today. ``with_effect``: what changed code does and did is worked out
    too. ``checked``: what the checks find in an edit of a text with changes of these kinds, in sentences.
    """

    shop: Shop
    known: KnownTexts
    bases: BaseFinder
    texts: KnownCode
    shaper: Shaper
    now: Callable[[str, str], Operation]
    with_effect: bool = False
    checked: Callable[[Known, bytes, Sequence[str]], Sequence[str]] = lambda _known, _data, _kinds: ()

    def judge(self, medium: Medium, look: Look, home: Home | None) -> FileVerdict:
        """The verdict on one file; raises CouldNot (``medium-gone``) only when the whole stick is gone."""
        seen, machine = look.seen, home.machine if home else None
        blank = FileVerdict(file=written(seen.path), verdict=verdicts.UNKNOWN, message="", path=seen.path)
        blank = replace(blank, machine=machine.id if machine else None)
        if look.fault is not None:
            return replace(blank, verdict=verdicts.DAMAGED, message=look.fault.what)
        if look.found is None:
            return _not_opened(blank, seen)
        blank = replace(blank, sha256=look.found.sha256, code=look.found.code)
        try:
            data = look.data if look.found.exported else whole(medium, look)
        except CouldNot as fault:
            if fault.name != "unreadable-file":
                raise
            return replace(blank, verdict=verdicts.DAMAGED, message=fault.what)
        if data is None and not look.found.known:
            return replace(blank, message="nothing in the record has this code; too long to be compared")
        place = f"{home.machine.folder_name}/{home.inside(seen.path)}" if home else seen.path
        return self._judged(blank, data, look.found, machine, place)

    def _judged(
        self, blank: FileVerdict, data: bytes | None, found: Found, machine: Machine | None, place: str
    ) -> FileVerdict:
        if found.known:
            verdict = self._in_the_way(self.texts.judge(blank, data, found, machine), found, machine, place)
            return self._own_id(
                self._remarked(verdict, None if found.exported else data, machine), data, found
            )
        if data is None:
            return blank
        base = self.bases.base_of(to_find(data), place, machine)
        parts = programs_in(data, base, self.known)
        if parts:
            return self._several(blank, data, parts, machine)
        verdict = self._unknown_code(blank, data, found, machine, place, base)
        if verdict.known is not None or verdict.verdict != verdicts.UNKNOWN:
            return verdict
        return replace(verdict, hint=proof_comment(data, None))

    def _in_the_way(
        self, verdict: FileVerdict, found: Found, machine: Machine | None, place: str
    ) -> FileVerdict:
        """The same code where it would be exported to, in a writing that is in no record: the next export refuses it."""
        text = verdict.known
        if verdict.verdict != verdicts.SAME_CODE or verdict.aside or text is None or machine is None:
            return verdict
        folder = place.removeprefix(f"{machine.folder_name}/").rpartition("/")[0]
        written_to = folder.upper() in ("", *SUBFOLDERS.values())
        recorded = found.exported or found.same_bytes or self._other_name(verdict, text, machine)
        if recorded or not written_to:
            return verdict
        return replace(verdict, aside=verdicts.OLD_WRITING if self._changed_too(text) else verdicts.WRITING)

    def _several(
        self, blank: FileVerdict, data: bytes, parts: Sequence[Part], machine: Machine | None
    ) -> FileVerdict:
        """Rule 3."""
        judged = []
        for part in parts:
            text = data[part.start : part.end]
            found = self.known.content(text)
            own = replace(
                blank,
                file=f"{blank.file}#O{part.number:04}",
                sha256=found.sha256,
                code=found.code,
                span=(part.start, part.end),
            )
            judged.append(self._judged_alone(own, text, found, machine))
        gravest = min(judged, key=lambda one: verdicts.GRAVITY.index(one.verdict))
        named = [f"O{part.number:04} {one.verdict}" for part, one in zip(parts, judged, strict=True)]
        more = f" and {len(named) - MOST_NAMED} more" if len(named) > MOST_NAMED else ""
        return replace(
            blank,
            verdict=gravest.verdict,
            job=gravest.job,
            operation=gravest.operation,
            revision=gravest.revision,
            message=f"{counted(len(parts), 'program')} in one file: {', '.join(named[:MOST_NAMED])}{more}",
            parts=tuple(judged),
        )

    def _judged_alone(
        self, blank: FileVerdict, data: bytes, found: Found, machine: Machine | None
    ) -> FileVerdict:
        """A program of a dump: the name of the dump says nothing about it."""
        if found.known:
            verdict = self._remarked(self.texts.judge(blank, data, found, machine), data, machine)
            return self._own_id(verdict, data, found)
        base = self.bases.base_of(to_find(data), "", machine)
        return self._unknown_code(blank, data, found, machine, "", base)

    def _unknown_code(
        self,
        blank: FileVerdict,
        data: bytes,
        found: Found,
        machine: Machine | None,
        place: str,
        base: Base | None,
    ) -> FileVerdict:
        if base is None:
            cut = cut_off(data)
            if cut is not None and (data == b"" or b"%" in data[:512]):
                return replace(blank, verdict=verdicts.INCOMPLETE, message=f"{cut}; read it out again")
            aside = verdicts.SETTINGS if _sets_only(found, data) else ""
            blank = replace(blank, aside=aside)
            return self._unlike(blank, data, place, machine, _no_text(found, data))
        if (
            without_half_end(data) == data
            and not half_block(data)
            and found.dialect == VERBATIM
            and base.known.file.dialect != VERBATIM
        ):
            return said(
                blank,
                verdicts.DAMAGED,
                base.known,
                "no text a control could have written lies under this name",
            )
        # of a text that shares a little the end says nothing, and it need not be read
        of_it = base.within >= LEAST_ALIKE or base.within == 0
        why = _not_whole(data, base) if of_it else None
        if why is not None:
            return said(blank, verdicts.INCOMPLETE, base.known, why)
        if another_program(base):
            return self._unlike(blank, data, place, machine, _another(data, place, base))
        if not self.texts.board.is_for(base.known.job, base.known.operation, machine):
            return self._edited_for_another(blank, base.known, machine)
        return self._changed(blank, data, base, machine)

    def _edited_for_another(self, blank: FileVerdict, text: Known, machine: Machine | None) -> FileVerdict:
        """An edit of a text that is for other machines, by its stamp: no edit of what is for this one."""
        on = ", ".join(self.texts.board.machines(text.job, text.operation))
        here = machine.id if machine else "this machine"
        return said(
            replace(blank, aside=verdicts.EDITED),
            verdicts.OTHER_MACHINE,
            text,
            f"an edit of {text.job}/{text.operation} {label(text.stored.name)}, as its id line says: for {on}, not for {here}. "
            "Was it run here? To take it in, put it into the folder of its machine and collect again",
        )

    def _unlike(
        self, blank: FileVerdict, data: bytes, place: str, machine: Machine | None, words: str
    ) -> FileVerdict:
        """Like no text that can be read back: ``words`` say so, unless one of those it may have been cannot."""
        lost = self.bases.lost(data, place, machine)
        if lost is None:
            strange = self.known.strange_mark(self.shaper.marks(data))
            message = f"{_stopped(words)} {strange}" if strange else words
            return replace(blank, aside=verdicts.SHARE if strange else blank.aside, message=message)
        return replace(blank, aside="", job=lost.job, operation=lost.operation, message=lost_words(lost))

    def _changed(self, blank: FileVerdict, data: bytes, base: Base, machine: Machine | None) -> FileVerdict:
        from tracker.nc.compare import compare, with_slower  # an unchanged stick pays for none of this

        found = compare(base.data, data, strict=base.known.record.strict, lathe=is_lathe(machine))
        shown = with_slower(found, self.shop.policy.slower_percent)
        marks = end_marks(base.data, data, strict=base.known.record.strict, lathe=is_lathe(machine))
        told = [marks] if marks else remarks(base.data, data, shown.kinds, shown.changes, machine)
        told = [*told, *self.checked(base.known, data, shown.kinds)]
        what = ". ".join([", ".join(shown.kinds), *told])
        last = self.bases.last_export(base.known, machine)
        apart = unreleased([] if last is None else [last])
        went = "" if apart is None else f", which went out as {apart}"
        since, too = f"since {label(base.known.stored.name)}{went}: ", self._changed_too(base.known)
        stop = f"{self._stop(base.known, machine)}{too}"
        less = shortened(data, base.data)
        if less is None:
            words = f"the code was changed {since}{_stopped(what)} {stop}Who edited it, why, and was it cut?"
        else:
            words = f"not whole, or cut down at the control {since}{less} ({', '.join(shown.kinds)}). {stop}".strip()
        verdict = said(replace(blank, unreleased=apart), verdicts.CHANGED_CODE, base.known, words)
        done = None
        if self.with_effect:
            from tracker.machining.setting import Setting
            from tracker.services.effect import effect

            setting = Setting(lathe=found.lathe, units=machine.units if machine else None)
            done = effect(base.known.file.name, base.data, data, setting, setting)
        verdict = replace(verdict, kinds=shown.kinds, changes=shown.changes, effect=done)
        if less is not None:
            verdict = replace(verdict, verdict=verdicts.INCOMPLETE, aside=verdicts.SHORTER)
        elif too:
            verdict = replace(verdict, aside=verdicts.BOTH)
        return self._remarked(verdict, data, machine, base.data)

    def _changed_too(self, text: Known) -> str:
        """That the text an edit was made of is another one by now; nothing is merged, so somebody has to know."""
        if self.texts.board.is_newest(text):
            return ""
        now = self.now(text.job, text.operation)
        texts = now.programs.get(now.path_of(text) or "", ())
        names = [label(one.stored.name) for one in texts if one.file.fingerprint != text.file.fingerprint]
        return f"Its code was changed too in {' and '.join(names)}. " if names else ""

    def _stop(self, text: Known, machine: Machine | None) -> str:
        """That the text an edit was made of is stopped: whoever runs the edit runs most of it."""
        place = self.texts.board.standing(text.stored, machine)
        if place is None or place.state not in (HELD, REJECTED, WITHDRAWN):
            return ""
        return f"{label(text.stored.name)} may not run: {_stopped(place.reason)} "

    def _remarked(
        self, verdict: FileVerdict, data: bytes | None, machine: Machine | None, base: bytes | None = None
    ) -> FileVerdict:
        """The same with what its name and the text say beside the code; ``data`` None: nothing but the name."""
        text = verdict.known
        if text is None:
            return verdict
        notes, hint = [], None
        if not verdict.span and (name := self._other_name(verdict, text, machine)):
            notes.append(f"Under another name: it was {name}.")
        if data is not None:
            sent = base if base is not None else self.bases.as_sent(text, machine)
            if sent is not None and self.shaper.marks(sent) and not self.shaper.marks(data):
                notes.append("Its id line is lost.")
            strange = self.known.strange_mark(self.shaper.marks(data))
            if strange:
                notes.append(strange)
                edit = verdict.verdict == verdicts.CHANGED_CODE and not verdict.aside
                verdict = replace(verdict, aside=verdicts.SHARE if edit else verdict.aside)
            hint = proof_comment(data, sent)
        message = " ".join([_stopped(verdict.message), *notes]) if notes else verdict.message
        return replace(verdict, message=message, hint=hint)

    def _own_id(self, verdict: FileVerdict, data: bytes | None, found: Found) -> FileVerdict:
        """The same, told where the id line of a known text is another's; bytes an export wrote are as they are to be.

        Nor is it told of an edit that was taken in as it came, as long as that is to be proved or taken off anyway.
        """
        taken_in = bool(found.same_bytes) and not verdict.fine
        other = None if data is None or found.exported or taken_in else self._id_of_another(data, found)
        if other is None:
            return verdict
        words = f"{_stopped(verdict.message)} Its id line is that of {other}, not of this text."
        graver = not verdict.fine or verdict.aside == verdicts.CALLED
        return replace(verdict, message=words, aside=verdict.aside if graver else verdicts.ID)

    def _id_of_another(self, data: bytes, found: Found) -> str | None:
        return whose_id(self.known, self.shaper.marks(data), found.known)

    def _other_name(self, verdict: FileVerdict, text: Known, machine: Machine | None) -> str | None:
        """What the file was called where it is called otherwise now."""
        name = (verdict.path or "").rsplit("/", 1)[-1]
        sent = self.bases.name_sent(text, machine)
        same = self.shaper.folded(name) in {self.shaper.folded(one) for one in (text.file.name, sent)}
        return None if same else sent


def _not_whole(data: bytes, base: Base) -> str | None:
    """Why a text that was ``base`` is not whole, and what to do; None where nothing speaks for it."""
    cut = cut_off(data, base.data)
    again = None if cut is None else f"{cut}: the transfer was cut; read it out of the control again"
    return parted(data, base.data) or again


def _stopped(words: str) -> str:
    return words if words.endswith((".", "?")) else f"{words}."


def _another(data: bytes, place: str, base: Base) -> str:
    number = next((f"O{one:04}" for one in program_numbers(data)[:1]), f"the name {written(place)}")
    return (
        f"another program under {number}: it shares {base.alike:.0%} of its code with "
        f"{base.known.job}/{base.known.operation}"
    )


def _not_opened(blank: FileVerdict, seen: Seen) -> FileVerdict:
    if seen.kind == "closed":
        return replace(blank, verdict=verdicts.DAMAGED, message=f"cannot be opened: {seen.why}")
    what = "a link" if seen.kind == "link" else "a device or pipe"
    return replace(blank, message=f"{what}: not opened")


def _sets_only(found: Found, data: bytes) -> bool:
    return found.dialect != VERBATIM and settings_only(data)


def _no_text(found: Found, data: bytes) -> str:
    if _sets_only(found, data):
        return "offsets or variables of a control, no program: keep it as evidence of the machine"
    return "nothing in the record has this code or this name" + (
        "; no NC text in words and addresses" if found.dialect == VERBATIM else ""
    )
