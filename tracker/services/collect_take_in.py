"""Taking a control edit in: the texts of one operation, as they came home, become its next revision.

Rules:

1. Taken in are the operation's programs whose code was changed, and with them those the control wrote in another way
   (same code): what was cut is one text. The bytes are kept as they came, our stamp among them; with ``tidy`` they are
   written the office's way around the same code, where that can be done.
2. A program of the operation that is not whole, or damaged, forbids it. One that ends as it should and is much shorter
   than it was is taken in where a person says that it is all the control holds (``whole``), and the revision keeps that.
3. What they are held against is the text that was exported to the machine. If the office has changed that text since,
   both lists are shown and nothing is merged.
4. Where it uses T, H, D or a work offset that the setup sheet has otherwise, the sheet has to follow first.
5. The file in the working folder is replaced by the commit that records what came home, and only where a revision holds
   what lies there: edits nobody checked in, in git or not, are refused (the check-in sees to that).
"""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from tracker.digest import sha256_of
from tracker.errors import BadCall, Refused
from tracker.policy.find import label
from tracker.records.stored import Ledger
from tracker.services import collect_report as verdicts
from tracker.services.both_changed import both_changed, both_lists
from tracker.services.checkin import CheckInReport, check_in
from tracker.services.collect_operation import Operation, operation_now
from tracker.services.collect_report import FileVerdict
from tracker.services.collect_tidy import comments_lost, tidy
from tracker.services.desk import Desk
from tracker.services.edit_findings import refuse_sheet_behind
from tracker.services.known import Known, KnownTexts
from tracker.services.naming import Named
from tracker.services.ports_stick import Medium
from tracker.services.recorded import names

_AS_RECORDED = (
    "nothing was taken in: written the office's way it is what is recorded. Leave --tidy out to keep the control's writing, "
    "or take the file off the stick"
)
MOST_COMMENTS = 5
"""Comments of the office named that the text taken in has not."""
_BROKEN = {verdicts.INCOMPLETE, verdicts.DAMAGED}


class Said(Protocol):
    """Who edited, who types it in, and why."""

    @property
    def by(self) -> str | None:
        """Initials of the person who edited."""

    @property
    def entered_by(self) -> str | None:
        """Initials of the person at the PC."""

    @property
    def reason(self) -> str | None:
        """Why it was edited."""

    @property
    def whole(self) -> bool:
        """Whether a text that is much shorter than it was is all the control holds."""

    @property
    def tidy(self) -> bool:
        """Whether the office's way of writing is restored."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """What was checked in, which files of the stick became which revision of it, and what a person should know.

    ``in_the_way``: of these files those that lie in a machine's folder with bytes that are in no record. ``bases``: of those that
    were judged as an edit of another operation that calls the program, the text of this one they are an edit of.
    """

    report: CheckInReport
    files: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    in_the_way: frozenset[str] = frozenset()
    bases: Mapping[str, Known] = field(default_factory=dict)


def take_in(
    desk: Desk, ledger: Ledger, medium: Medium, files: Sequence[FileVerdict], named: Named, said: Said
) -> TakenIn:
    """Check the edits of one operation in.

    Raises:
        Refused: ``nothing-to-take-in``, ``not-whole``, ``two-copies``, ``both-changed``, ``sheet-behind``,
            ``changed-meanwhile``, and what a check-in refuses (``uncommitted-edits``, ``wrong-role``, ...).
        BadCall: ``unknown-job``, ``unknown-operation``, ``which-operation``, ``no-reason``.
        CouldNot: the stick or a recorded text could not be read.
    """
    known = KnownTexts(desk.repo, ledger)
    operation = _operation(desk, ledger, known, named)
    own = [one for one in files if one.known is not None and operation.path_of(one.known) is not None]
    _refuse_broken(operation, own, whole=said.whole)
    _refuse_gone(operation, files)
    _refuse_both_changed(known, operation, own)
    texts: dict[str, bytes] = {}
    notes: list[str] = []
    edits = _edits(operation, own)
    for path, edit in edits.items():
        texts[path] = _bytes(medium, edit)
        if said.tidy:
            texts[path] = _tidied(known, operation, path, texts[path], notes)
        notes += _office_comments(known, operation.programs[path][-1], texts[path], tidied=said.tidy)
    if not texts:
        raise _nothing(operation, own or files)
    refuse_sheet_behind(
        desk.repo.tree(), ledger, operation.job, operation.operation, texts, _kinds(edits.values())
    )
    wanted = Named(job=operation.job, operation=operation.operation)
    done = check_in(
        desk,
        [wanted],
        by=said.by,
        reason=_reason(said.reason, edits.values()),
        entered_by=said.entered_by,
        off_control=True,
        texts=texts,
    )
    notes += () if done.checked_in else (_AS_RECORDED,)
    taken = {edit.sha256 for edit in edits.values()}
    seen = {one.file: name for one in own if one.sha256 in taken for name in _became(operation, done)}
    kept = {sha256_of(data) for data in texts.values()}
    left = frozenset(one.file for one in own if one.file in seen and one.machine and one.sha256 not in kept)
    bases = dict(_bases(known, operation, [one for one in own if one.file in seen]))
    return TakenIn(report=done, files=seen, notes=tuple(notes), in_the_way=left, bases=bases)


def _bases(
    known: KnownTexts, operation: Operation, taken: Iterable[FileVerdict]
) -> Iterable[tuple[str, Known]]:
    mine = known.of(operation.job, operation.operation)
    for one in taken:
        was = one.known
        if was is None or was in mine:
            continue
        own = [text for text in mine if text.file.fingerprint == was.file.fingerprint]
        if own:
            yield one.file, own[-1]


def _became(operation: Operation, done: CheckInReport) -> Iterable[str]:
    """The revision of the operation: other jobs that call an edited program get one too, of an operation of the same id."""
    own = operation.job, operation.operation
    return (one.name for one in done.checked_in if (one.record.job, one.record.operation) == own)


def _nothing(operation: Operation, files: Iterable[FileVerdict]) -> Refused:
    return Refused(
        "nothing-to-take-in",
        f"no text of {operation.spelled} on this stick differs from what is recorded",
        reasons=tuple(f"{one.file}: {one.verdict}, {one.message}" for one in files),
        fix="proveout collect without --checkin shows every file",
    )


def _reason(said: str | None, edits: Iterable[FileVerdict]) -> str | None:
    """Why, with the word of a person that a text is whole where it is much shorter than it was."""
    names = [one.file for one in edits if one.aside == verdicts.SHORTER]
    return (
        f"{said}; much shorter, and said to be all the control holds: {', '.join(names)}"
        if said and names
        else said
    )


def _kinds(edits: Iterable[FileVerdict]) -> set[str]:
    """In which ways their code was changed."""
    return {kind for one in edits for kind in one.kinds}


def _refuse_broken(operation: Operation, own: Sequence[FileVerdict], *, whole: bool) -> None:
    """Rule 2."""
    broken = [one for one in own if one.verdict in _BROKEN and not (whole and one.aside == verdicts.SHORTER)]
    if broken:
        shorter = any(one.aside == verdicts.SHORTER for one in broken)
        raise Refused(
            "not-whole",
            f"a program of {operation.spelled} did not come home whole; nothing is taken in",
            where=broken[0].file,
            fix="read it out of the control again"
            + ("; if that is all the control holds, say so: --whole" if shorter else "")
            + "; or take it off the stick",
            reasons=tuple(f"{one.file}: {one.message}" for one in broken),
        )


def _tidied(known: KnownTexts, operation: Operation, path: str, data: bytes, notes: list[str]) -> bytes:
    """The text in the office's writing, or as it came; ``notes`` say which, and what is left out."""
    now = operation.programs[path][-1]
    found = tidy(known.bytes_of(now), data, strict=now.record.strict)
    if found is None:
        notes.append(f"{now.file.name} is kept as it came: the office's writing does not fit around its code")
        return data
    notes.append(f"{now.file.name} is written the office's way; its code is the one that came home")
    if found.dropped:
        notes.append(
            f"comments written at the control are left out of {now.file.name}: {' '.join(found.dropped)}"
        )
    return found.data


def _office_comments(known: KnownTexts, now: Known, data: bytes, *, tidied: bool) -> Sequence[str]:
    """That comments of the newest revision are not in the text that takes its place; the office may have added them since."""
    lost = comments_lost(known.bytes_of(now), data)
    if not lost:
        return ()
    more = f" and {len(lost) - MOST_COMMENTS} more" if len(lost) > MOST_COMMENTS else ""
    fix = "" if tidied else "; --tidy keeps the office's"
    shown = " ".join(lost[:MOST_COMMENTS])
    return (f"comments of {now.file.name} in {label(now.stored.name)} did not come home: {shown}{more}{fix}",)


def _operation(desk: Desk, ledger: Ledger, known: KnownTexts, named: Named) -> Operation:
    job, operation = names(desk, named, ledger)
    found = operation_now(ledger, known, job, operation)
    if not found.programs:
        raise BadCall(
            "unknown-revision",
            f"{job}/{operation} has no revision yet",
            fix="check the office's text in first",
        )
    return found


def _edits(operation: Operation, own: Sequence[FileVerdict]) -> dict[str, FileVerdict]:
    """Path in the repository -> the file that is to be its text."""
    edits: dict[str, FileVerdict] = {}
    for one in own:
        if one.known is None or not (one.edited or one.verdict == verdicts.SAME_CODE):
            continue
        path = operation.path_of(one.known) or ""
        now = operation.programs[path]
        if any(text.file.raw_sha256 == one.sha256 for text in now):
            continue
        if one.verdict == verdicts.SAME_CODE and not _same_code(one.known, now):
            continue
        other = edits.setdefault(path, one)
        if other.sha256 != one.sha256:
            raise _two_copies(path, other, one)
    return edits


def _two_copies(path: str, other: FileVerdict, one: FileVerdict) -> Refused:
    """Two texts of one program, in two files or, as a control adds to a file it wrote before, in one."""
    if other.file != one.file:
        return Refused(
            "two-copies",
            f"two different texts of {path} lie on this stick: {other.file} and {one.file}",
            where=one.file,
            fix="find out which one was cut, and take the other one off",
        )
    name = one.file.rpartition("#")[0]
    return Refused(
        "two-copies",
        f"two different texts of {path} lie in one file: {name} holds it twice",
        where=one.file,
        fix="find out which one was cut, and read that one out of the control into a file of its own",
    )


def _same_code(text: Known, now: Sequence[Known]) -> bool:
    return any(one.file.fingerprint == text.file.fingerprint for one in now)


def _refuse_gone(operation: Operation, files: Iterable[FileVerdict]) -> None:
    """Raise Refused (``both-changed``) for an edit of a program that the newest revision has not, under any name."""
    gone = [
        one
        for one in files
        if one.known is not None
        and one.edited
        and (one.known.job, one.known.operation) == (operation.job, operation.operation)
        and operation.path_of(one.known) is None
    ]
    if gone:
        raise Refused(
            "both-changed",
            f"the office took a program out of {operation.spelled} that was edited at the control; nothing is taken in",
            where=gone[0].file,
            fix="bring both together by hand in the office, check that in, and prove it",
            reasons=tuple(
                f"{one.file} was {one.known.file.path} in {label(one.known.stored.name)}"
                for one in gone
                if one.known is not None
            ),
        )


def _refuse_both_changed(known: KnownTexts, operation: Operation, own: Iterable[FileVerdict]) -> None:
    """Rule 3."""
    reasons: list[str] = []
    for one in own:
        if one.known is None or not one.edited:
            continue
        for now in operation.programs[operation.path_of(one.known) or ""]:
            if now.file.fingerprint != one.known.file.fingerprint:
                reasons += both_lists(known, one.known, now, one.file, one.changes)
    if reasons:
        raise both_changed(operation.spelled, reasons)


def _bytes(medium: Medium, edit: FileVerdict) -> bytes:
    data = medium.read(edit.path or "")
    data = data[slice(*edit.span)] if edit.span else data
    if hashlib.sha256(data).hexdigest() != edit.sha256:
        raise Refused(
            "changed-meanwhile", "the file changed while it was read", where=edit.file, fix="collect again"
        )
    return data
