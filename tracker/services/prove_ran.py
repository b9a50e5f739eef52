"""The file off the control beside the text that was to be proved.

Same code: the proof is of the revision, and keeps the hash of what was run. Different: it is another text, and has to
become a revision before anybody can prove it. A file that is the text of another revision is named as such. Of all a control
holds, sent in one file, the programs of the operation count.
"""

from collections import Counter
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from hashlib import sha256

from tracker.errors import BadCall, CouldNot, Refused
from tracker.nc.calls import program_numbers
from tracker.nc.compare import compare
from tracker.nc.scan import canonical, identity
from tracker.policy.find import label
from tracker.policy.spelled import counted
from tracker.records.events import FileOf
from tracker.services.both_changed import both_changed, both_lists
from tracker.services.collect_base import is_another
from tracker.services.collect_dump import programs_in
from tracker.services.comparing import CompareReport, PlainFile, compare_mixed
from tracker.services.cut_off import bare_blocks, cut_off, parted, shortened
from tracker.services.desk import Desk
from tracker.services.id_line import DIGITS
from tracker.services.known import Known, KnownTexts
from tracker.services.operation_text import ProgramText
from tracker.services.paths import name_of
from tracker.services.revision_text import RevisionText, revision_text
from tracker.services.target import Target


@dataclass(frozen=True, slots=True, kw_only=True)
class Edited:
    """A file that is no longer the code of its program: path in the repository, bytes, how it differs."""

    path: str
    data: bytes
    difference: CompareReport


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """What was run: the revision's files with the hashes of those off the control, and the edited ones."""

    files: tuple[FileOf, ...]
    edited: tuple[Edited, ...] = ()


def off_control(desk: Desk, found: Target, files: Sequence[PlainFile]) -> Ran:
    """Hold every file against its program.

    Raises BadCall (``which-program``), Refused (``no-code``, ``another-revision``, ``another-program``, ``not-whole``,
    ``not-the-newest``, ``both-changed``).
    """
    text = revision_text(desk.repo, found.stored)
    recorded = {file.path: file for file in found.record.files}
    edited: list[Edited] = []
    for file in (piece for each in files for piece in _pieces(desk, found, text, each)):
        program = _program_of(text, file)
        if _same_code(program, file, strict=found.record.strict):
            recorded[program.path] = replace(recorded[program.path], raw_sha256=sha256(file.data).hexdigest())
        else:
            _not_another(desk, found, program, file)
            _whole(program, file)
            _an_edit(found, program, file)
            _not_shorter(program, file, f"{found.job}/{found.operation}")
            _not_of_an_older(desk, found, program, file)
            names = (found.label, file.name)
            alone = replace(text, programs=(program,))
            difference = compare_mixed(found.shop, alone, file, names, file_is_new=True)
            edited.append(Edited(path=program.path, data=file.data, difference=difference))
    if edited and not found.is_newest:
        raise Refused(
            "not-the-newest",
            f"{edited[0].difference.new} was edited from {found.label}, and there is a newer revision",
            fix=f"prove it against the newest: proveout prove {found.job}/{found.operation} --machine ID --ran FILE",
        )
    return Ran(files=tuple(recorded.values()), edited=tuple(edited))


def _pieces(desk: Desk, found: Target, text: RevisionText, file: PlainFile) -> Sequence[PlainFile]:
    """The programs of the operation in a file that holds others of the record, each by itself; else the file."""
    if len(set(program_numbers(file.data))) < 2:
        return (file,)
    known = KnownTexts(desk.repo, found.ledger)
    parts = programs_in(file.data, None, known)
    recorded = [part for part in parts if known.by_number([part.number])]
    numbers = {program.number for program in text.programs}
    own = [part for part in recorded if part.number in numbers]
    if len(recorded) < 2 or not own:
        return (file,)
    return [
        PlainFile(name=f"{file.name}#O{part.number:04}", data=file.data[part.start : part.end])
        for part in own
    ]


def _program_of(text: RevisionText, file: PlainFile) -> ProgramText:
    """The program of the revision a file was: by name, by O number, or the only one there is."""
    name = name_of(file.name.replace("\\", "/")).upper()
    numbers = set(program_numbers(file.data))
    by_name = [one for one in text.programs if one.name.upper() == name]
    by_number = [one for one in text.programs if one.number is not None and one.number in numbers]
    for found in (by_number, by_name, list(text.programs)):
        if len(found) == 1:
            return found[0]
    known = ", ".join(one.name for one in text.programs)
    raise BadCall(
        "which-program",
        f"which program of the operation is {file.name}? Neither its name nor its O number says",
        where=file.name,
        fix=f"name the file like one of: {known}"
        if known
        else "run proveout audit: no program can be read back",
    )


def _same_code(program: ProgramText, file: PlainFile, *, strict: bool) -> bool:
    ran = identity(file.data, strict=strict)
    if not ran.blocks:
        raise Refused(
            "no-code",
            f"{file.name} {'is empty' if not file.data else 'holds no code'}",
            where=file.name,
            fix="save the program from the control again",
        )
    return ran.fingerprint == identity(program.data, strict=strict).fingerprint


def _whole(program: ProgramText, file: PlainFile) -> None:
    """Refuse an edited file whose end is missing, as `collect` does: a cut transfer is nobody's edit."""
    apart = parted(file.data, program.data)
    why = apart or cut_off(file.data, program.data)
    if why:
        fix = None if apart else "read it out of the control again"
        raise _not_whole(file, why, fix)


def _not_shorter(program: ProgramText, file: PlainFile, spelled: str) -> None:
    """Refuse an edited file much of whose code is missing; a person says with `collect` that it is whole."""
    less = shortened(file.data, program.data)
    if less:
        taken = f"take it in first: proveout collect DIR --checkin {spelled} --whole"
        raise _not_whole(file, less, f"read it out of the control again; if that is all it holds, {taken}")


def _not_whole(file: PlainFile, why: str, fix: str | None) -> Refused:
    return Refused("not-whole", f"{file.name} did not come home whole: {why}", where=file.name, fix=fix)


def _not_of_an_older(desk: Desk, found: Target, program: ProgramText, file: PlainFile) -> None:
    """Refuse (``both-changed``) an edit of a text the office has changed since: taken in it would undo that.

    It is one where it has more of an older text's code than of this one's, and does not carry the stamp of this one.
    """
    if found.record.operation_fingerprint[:8].upper().encode() in file.data.upper():
        return
    known = KnownTexts(desk.repo, found.ledger)
    texts = known.of(found.job, found.operation, program.path)
    now = next((one for one in texts if one.stored.name == found.stored.name), None)
    blocks = Counter(bare_blocks(canonical(file.data)))
    if now is None:
        return
    older: dict[str, tuple[int, int, Known]] = {}
    for one in texts:
        if one.stored.order < now.stored.order:
            with suppress(CouldNot):  # what cannot be read back any more cannot be compared
                shared = _shared(blocks, known.bytes_of(one))
                older[one.file.fingerprint] = shared, one.stored.order, one
    most, _, base = max(older.values(), default=(0, 0, now), key=lambda one: one[:2])
    if most > _shared(blocks, program.data):
        strict = base.record.strict or now.record.strict
        changes = compare(known.bytes_of(base), file.data, strict=strict).changes
        spelled = f"{found.job}/{found.operation}"
        raise both_changed(spelled, both_lists(known, base, now, file.name, changes))


def _an_edit(found: Target, program: ProgramText, file: PlainFile) -> None:
    """Refuse a file that shares too little code with the program to be an edit of it, by the measure of `collect`."""
    mine = Counter(bare_blocks(canonical(file.data)))
    common, theirs = _shared(mine, program.data), len(bare_blocks(canonical(program.data)))
    if is_another(2 * common / max(mine.total() + theirs, 1), common / max(mine.total(), 1)):
        raise Refused(
            "another-program",
            f"{file.name} is no edit of {program.name}: it shares {common} of {counted(mine.total(), 'block')} with {found.label}",
            where=file.name,
            fix="name the file that was run; a program written anew is checked in in the office",
        )


def _shared(blocks: "Counter[bytes]", text: bytes) -> int:
    """How many of these blocks a text has."""
    return (blocks & Counter(bare_blocks(canonical(text)))).total()


def _not_another(desk: Desk, found: Target, program: ProgramText, file: PlainFile) -> None:
    """Refuse a file that is the text of another revision of the operation, or of other operations only, or an edit of such."""
    kept = KnownTexts(desk.repo, found.ledger)
    texts = kept.content(file.data).known
    now = next(one.fingerprint for one in found.record.files if one.path == program.path)
    stamped = [one for mark in DIGITS.findall(file.data) for one in kept.by_mark(mark.decode())]
    for those, what in ((texts, "the text"), (stamped, "by its id line an edit of the text")):
        of_it = [
            one
            for one in those
            if (one.job, one.operation) == (found.job, found.operation)
            or one.file.path == program.path
            or one.file.fingerprint == now
        ]
        if those and not of_it:
            other = f"{those[-1].job}/{those[-1].operation}"
            raise Refused(
                "another-program",
                f"{file.name} is {what} of {other} {label(those[-1].stored.name)}, not of {found.job}/{found.operation}",
                where=file.name,
                fix=f"name the file that was run, or the operation it is of: {other}",
            )
    others = sorted(
        {
            known.number
            for known in texts
            if (known.job, known.operation) == (found.job, found.operation)
            and known.file.path == program.path
        }
    )
    if others:
        named = label(f"r{others[-1]:04}")
        raise Refused(
            "another-revision",
            f"{file.name} is the text of {named}, not of {found.label}",
            where=file.name,
            fix=f"prove that one: {found.job}/{found.operation}@{named}",
        )
