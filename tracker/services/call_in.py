"""What of ours must come off sticks: texts that were exported for a machine and may not be there any more.

On the stick in hand the files themselves are looked at; of other sticks the records say what was last written there
or seen there. A text may stay while the operation it belongs to may run on the machine with this very code.
"""

from collections.abc import Callable, Container, Iterator, Sequence
from dataclasses import dataclass, field, replace

from tracker.policy.deviations import Deviation
from tracker.policy.find import label, number_of
from tracker.records.events import ExportRecord, OnStick, RevisionRecord
from tracker.records.shop import Machine, Shop
from tracker.records.stored import Ledger
from tracker.services.known import Exported, KnownTexts, unreleased
from tracker.services.on_sticks import Copy, copies
from tracker.services.ports_stick import DEVIATION, FOR_PROVING, RELEASED, SUBFOLDERS, Purpose, Seen
from tracker.services.stick_view import Contents, written
from tracker.services.told_by_bytes import TAKEN_IN
from tracker.services.usable import LeftOut, Usable

MOST_BYTES = 1 << 25
"""Bytes of files in no machine's folder that a plain export reads for copies of ours; a mirror reads more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CallIn:
    """One file that must come off a stick, and why."""

    stick: str
    path: str
    job: str | None
    operation: str | None
    revision: str | None
    why: str


def not_stopped(_: OnStick, __: str | None) -> str | None:
    """Nothing is."""
    return None


def no_sheet(_: OnStick) -> str | None:
    """None is known."""
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Today:
    """What may run on the machine, and why the rest may not.

    ``stopped`` says why a text may not even be proved, or run on a deviation: it is held, withdrawn, of a deviation also
    rejected. ``sheet`` gives the fingerprint of the setup sheet a text went out with. ``seen`` and
    ``running`` are kept by itself: codes by program, and operations by job and id in lower case.
    """

    usable: Sequence[Usable]
    left_out: Sequence[LeftOut]
    deviations: Sequence[Deviation] = ()
    stopped: Callable[[OnStick, str | None], str | None] = not_stopped
    sheet: Callable[[OnStick], str | None] = no_sheet
    seen: dict[str, set[str]] = field(default_factory=dict, repr=False, compare=False)
    running: dict[tuple[str, str], Usable] = field(default_factory=dict, repr=False, compare=False)

    def why_not(self, file: OnStick, purpose: str | None) -> str | None:
        """Why a text of ours may not lie on a stick for this machine; None if it may.

        ``purpose`` None: an edit that was taken in and lies where it was made; it may be newer than what is released.
        """
        if purpose != RELEASED and (why := self.stopped(file, purpose)) is not None:
            return why
        if purpose == DEVIATION:
            return self._deviation_over(file)
        ahead = purpose in (FOR_PROVING, None)
        current = self._current(file)
        if current is None:
            out = next((one for one in self.left_out if _is(one.job, one.operation, file)), None)
            if out is None:
                return "is in no release for this machine any more"
            # what stops the released text is nothing against the prove-out of that one or of a later one; and where none
            # is released a newer one of the office ends nobody's prove-out
            later = number_of(file.revision or "") >= number_of(out.revision or "")
            proving = ahead and (later or not out.released)
            return None if proving else out.why
        release = f"{label(current.released.stored.name)} (release {current.released.release})"
        if ahead and number_of(file.revision or "") > number_of(current.released.stored.name):
            return None
        own = {
            one.fingerprint for one in current.released.record.files
        }  # whatever the office calls it by now
        if file.fingerprint in own | self._codes(file.program):
            if purpose == FOR_PROVING:
                return f"was for its prove-out; {release} is released"
            went = self.sheet(file)
            changed = went is not None and went != current.released.record.sheet_fingerprint
            return f"its setup sheet was changed since: {release}" if changed else None
        return f"superseded by {release}"

    def _current(self, file: OnStick) -> Usable | None:
        if not self.running:
            for one in reversed(self.usable):
                self.running[one.released.job.casefold(), one.released.operation.id.casefold()] = one
        return self.running.get(((file.job or "").casefold(), (file.operation or "").casefold()))

    def _deviation_over(self, file: OnStick) -> str | None:
        """A text of a deviation may lie there while the hours of one run."""
        mine = [
            one
            for one in self.deviations
            if _is(one.record.job or "", one.record.operation or "", file)
            and one.record.revision == file.revision
        ]
        if any(not one.over for one in mine):
            return None
        return "was for a deviation, and its hours are over"

    def _codes(self, program: str | None) -> set[str]:
        """Fingerprints of a program in every text that may run on the machine."""
        if not self.seen:
            for file in (file for one in self.usable for file in one.released.record.files):
                self.seen.setdefault(file.path, set()).add(file.fingerprint)
        return self.seen.get(program or "", set())


def on_this_stick(
    contents: Contents,
    known: KnownTexts,
    shop: Shop,
    machine: Machine,
    stick: str,
    today: Today,
    stays: Container[str],
) -> Iterator[CallIn]:
    """Files of ours in a machine's folder that may not be there; ``stays``: paths this export has just settled.

    Also those in a folder the machine had before, which is no machine's any more.
    """
    before = in_former_folders(contents, known, shop, machine)
    for seen in (*contents.files(contents.folder_of(machine, RELEASED)), *before):
        sha256 = None if seen.path in stays else contents.digest_if_readable(seen.path)
        if sha256 is None:
            continue
        every = known.exported(sha256)
        exported = [one for one in every if _same(one.record.machine, machine.id)]
        if every and not exported and seen not in before:
            other = every[-1]
            yield _called_in(stick, written(seen.path), other.file, f"was written for {other.record.machine}")
        why = _why_not_here(today, exported, purpose_in(seen.folder))
        if why is not None:
            yield _called_in(stick, written(seen.path), exported[-1].file, why)


def purpose_in(folder: str) -> Purpose:
    """What the texts in a folder of a stick are there for, by its name: among released ones whatever it went out for."""
    parts = folder.upper().split("/")
    return next((purpose for purpose, name in SUBFOLDERS.items() if name in parts), RELEASED)


def _why_not_here(today: Today, exported: Sequence[Exported], here: Purpose) -> str | None:
    """Why bytes that were exported may not lie in a folder of this purpose.

    One in another language is the same bytes for its prove-out and released; any other one was copied here by hand.
    """
    own = [one for one in exported if one.record.purpose == here]
    judged = exported if here == RELEASED else own or exported
    reasons = [today.why_not(one.file, here if here == RELEASED else one.record.purpose) for one in judged]
    if not reasons or None in reasons:
        return None
    went_out_as = unreleased(exported) if here == RELEASED else None
    return (
        reasons[-1] if went_out_as is None else f"{went_out_as}, and lies among what may run: {reasons[-1]}"
    )


def copied_elsewhere(
    contents: Contents, known: KnownTexts, shop: Shop, machine: Machine, stick: str, today: Today
) -> Iterator[CallIn]:
    """Texts of ours in no machine's folder that may not be there: a control that reads no folders has them copied up.

    Only files with a name an export gave a program for the machine are read, the shortest first and up to a limit.
    """
    folded = contents.shaper.folded
    wrote = once_written(contents, known, machine)
    names = {path.rpartition("/")[2] for path in wrote}
    left = MOST_BYTES
    for seen in sorted(_in_no_folder(contents, shop), key=lambda one: (one.size, one.path)):
        if folded(seen.path) in wrote or folded(seen.name) not in names:
            continue
        left -= seen.size
        if left < 0:
            return
        every = known.exported(contents.digest_if_readable(seen.path) or "")
        exported = [one for one in every if _same(one.record.machine, machine.id)]
        reasons = [today.why_not(one.file, one.record.purpose) for one in exported]
        if reasons and reasons[-1] is not None and None not in reasons:
            why = f"a copy outside the machines' folders: {reasons[-1]}"
            yield _called_in(stick, written(seen.path), exported[-1].file, why)


def in_former_folders(contents: Contents, known: KnownTexts, shop: Shop, machine: Machine) -> Sequence[Seen]:
    """Files in no machine's folder, in places where exports for this machine wrote before its folder was renamed."""
    apart = _in_no_folder(contents, shop)
    wrote = once_written(contents, known, machine) if apart else frozenset()
    return [one for one in apart if contents.shaper.folded(one.path) in wrote]


def _in_no_folder(contents: Contents, shop: Shop) -> Sequence[Seen]:
    folded = contents.shaper.folded
    homes = tuple(folded(one.folder_name) + "/" for one in shop.machines)
    return [one for one in contents.files() if not folded(one.path).startswith(homes)]


def once_written(contents: Contents, known: KnownTexts, machine: Machine) -> frozenset[str]:
    """Paths, folded, at which exports wrote programs for the machine, on whatever stick."""
    records = (stored.record for stored in known.exports)
    return frozenset(
        contents.shaper.folded(file.path)
        for record in records
        if isinstance(record, ExportRecord) and _same(record.machine, machine.id)
        for file in record.files
    )


def on_other_sticks(ledger: Ledger, machine: Machine, stick: str, today: Today) -> Iterator[CallIn]:
    """What the records say other sticks still carry for the machine and may not."""
    every = copies(ledger)
    became = {id(copy.under) for copy in every if copy.there and copy.file.verdict == TAKEN_IN}
    for copy in every:
        if not copy.there or _same(copy.stick, stick) or not _same(copy.machine, machine.id):
            continue
        if copy.changed:  # nobody knows what it is now, but what it was made of
            stopped = None if id(copy) in became else today.stopped(copy.file, copy.purpose)
            why = None if stopped is None else f"was changed there, and what it was made of is {stopped}"
        else:
            why = today.why_not(_with_its_code(ledger, copy.file), _purpose_of(copy))
        if why is not None:
            yield _called_in(copy.stick, copy.path, copy.file, why)


def _purpose_of(copy: Copy) -> str | None:
    """What a copy is there for: one nobody exported there may be a text for its prove-out among what may run."""
    folder = copy.path.rpartition("/")[0]
    by_hand = copy.seen and copy.purpose is not None and purpose_in(folder) == RELEASED
    return RELEASED if by_hand else copy.purpose


def _with_its_code(ledger: Ledger, file: OnStick) -> OnStick:
    """An edit that was taken in with the code of the revision it became: a collect had none to put down."""
    if file.fingerprint is not None:
        return file
    codes = (
        one.fingerprint
        for stored in ledger.records
        if isinstance(stored.record, RevisionRecord) and stored.name == file.revision
        for one in stored.record.files
        if one.path == file.program
    )
    return replace(file, fingerprint=next(codes, None))


def _called_in(stick: str, path: str, file: OnStick, why: str | None) -> CallIn:
    return CallIn(
        stick=stick,
        path=path,
        job=file.job,
        operation=file.operation,
        revision=label(file.revision) if file.revision else None,
        why=why or "",
    )


def _is(job: str, operation: str, file: OnStick) -> bool:
    return _same(job, file.job) and _same(operation, file.operation)


def _same(one: str, other: str | None) -> bool:
    return one.casefold() == (other or "").casefold()
