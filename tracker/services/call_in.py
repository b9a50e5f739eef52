"""What of ours must come off sticks: texts that were exported for a machine and may not be there any more.

On the stick in hand the files themselves are looked at; of other sticks the records say what was last written there
or seen there. A text may stay while the operation it belongs to may run on the machine with this very code.
"""

from collections.abc import Callable, Container, Iterator, Sequence
from dataclasses import dataclass, field

from tracker.policy.deviations import Deviation
from tracker.policy.find import label, number_of
from tracker.records.events import ExportRecord, OnStick
from tracker.records.shop import Machine, Shop
from tracker.records.stored import Ledger
from tracker.services.known import KnownTexts
from tracker.services.on_sticks import copies
from tracker.services.ports_stick import DEVIATION, FOR_PROVING, RELEASED, Seen
from tracker.services.stick_view import Contents, written
from tracker.services.usable import LeftOut, Usable


@dataclass(frozen=True, slots=True, kw_only=True)
class CallIn:
    """One file that must come off a stick, and why."""

    stick: str
    path: str
    job: str | None
    operation: str | None
    revision: str | None
    why: str


def not_stopped(_: OnStick) -> str | None:
    """Nothing is."""
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Today:
    """What may run on the machine, and why the rest may not.

    ``stopped`` says why a revision is held or withdrawn there, so that it may not even be proved. ``seen`` and ``running``
    are kept by itself: codes by program, and operations by job and id in lower case.
    """

    usable: Sequence[Usable]
    left_out: Sequence[LeftOut]
    deviations: Sequence[Deviation] = ()
    stopped: Callable[[OnStick], str | None] = not_stopped
    seen: dict[str, set[str]] = field(default_factory=dict, repr=False, compare=False)
    running: dict[tuple[str, str], Usable] = field(default_factory=dict, repr=False, compare=False)

    def why_not(self, file: OnStick, purpose: str) -> str | None:
        """Why a text of ours may not lie on a stick for this machine; None if it may."""
        if purpose == DEVIATION:
            return self._deviation_over(file)
        if purpose == FOR_PROVING and (why := self.stopped(file)) is not None:
            return why
        current = self._current(file)
        if current is None:
            out = next((one for one in self.left_out if _is(one.job, one.operation, file)), None)
            if out is None:
                return "is in no release for this machine any more"
            # what stops the released text is nothing against the prove-out of that one or of a later one; and where none
            # is released a newer one of the office ends nobody's prove-out
            later = number_of(file.revision or "") >= number_of(out.revision or "")
            proving = purpose == FOR_PROVING and (later or not out.released)
            return None if proving else out.why
        release = f"{label(current.released.stored.name)} (release {current.released.release})"
        if purpose == FOR_PROVING and number_of(file.revision or "") > number_of(
            current.released.stored.name
        ):
            return None
        own = {
            one.fingerprint for one in current.released.record.files
        }  # whatever the office calls it by now
        if file.fingerprint in own | self._codes(file.program):
            return f"was for its prove-out; {release} is released" if purpose == FOR_PROVING else None
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
        if not exported:
            continue
        reasons = [today.why_not(one.file, one.record.purpose) for one in exported]
        if None not in reasons:
            yield _called_in(stick, written(seen.path), exported[-1].file, reasons[-1])


def in_former_folders(contents: Contents, known: KnownTexts, shop: Shop, machine: Machine) -> Sequence[Seen]:
    """Files in no machine's folder, in places where exports for this machine wrote before its folder was renamed."""
    folded = contents.shaper.folded
    homes = tuple(folded(one.folder_name) + "/" for one in shop.machines)
    apart = [one for one in contents.files() if not folded(one.path).startswith(homes)]
    wrote = once_written(contents, known, machine) if apart else frozenset()
    return [one for one in apart if folded(one.path) in wrote]


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
    for copy in copies(ledger):
        if not copy.there or copy.changed or copy.purpose is None:
            continue
        if _same(copy.stick, stick) or not _same(copy.machine, machine.id):
            continue
        why = today.why_not(copy.file, copy.purpose)
        if why is not None:
            yield _called_in(copy.stick, copy.path, copy.file, why)


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
