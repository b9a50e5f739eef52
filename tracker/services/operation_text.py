"""The text of an operation: its main program, every program it calls, and its setup sheet.

Where a call's number is looked up (first level that has it): the main program's own folder; anywhere under the job
outside other operations' folders; ``common/``. Two programs with the number on one level, or one in the repository
and one resident in a control, is a finding of severity ``refuse``: nobody can say which one the control would run.
All candidates then belong to the operation, so that a change in any of them shows. Called in any other way than by a
number (a variable, a resident program) is *outside* what the record covers.

The search goes through called programs too, within a bound.
"""

from collections.abc import Callable, Iterable, Sequence

from tracker.errors import BadCall
from tracker.frozen import dataclass
from tracker.nc.identity import RULE_VERSION, Identity
from tracker.records.events import FileOf, Finding, Outside
from tracker.records.job import Job, Operation
from tracker.records.operation_print import operation_fingerprint
from tracker.records.sheet import sheet_fingerprint
from tracker.records.shop import Shop
from tracker.services.call_lookup import Lookup, ProgramIndex, may_be_program
from tracker.services.call_walk import Walk, residents
from tracker.services.locate import bring_back
from tracker.services.paths import folder_of, name_of, program_path
from tracker.services.ports import Tree
from tracker.services.program_facts import ProgramFacts
from tracker.services.program_text import ProgramText

__all__ = [
    "OperationText",
    "Prints",
    "ProgramText",
    "fingerprint_of",
    "main_program",
    "operation_text",
    "post_stamp",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationText:
    """All of it.

    Attributes:
        job: the job, from job.toml.
        operation: the operation, sheet values taken over from its original filled in.
        job_path: path of job.toml.
        programs: the main program first, then by O number, then by file name.
        files: the same as they stand in records, in the same order.
        outside: calls the record does not cover.
        findings: what was found wrong with the calls.
        notes: what a person should know, in words.
        strict: whether every N counts as code (a program jumps to line numbers of another).
        sheet_fingerprint: of the setup sheet.
        fingerprint: of the operation; its first 8 digits are the id people read back.
        rule_version: of the rules the fingerprints were computed by.
        post_patterns: how the shop says a post-processor's stamp looks; see `post`.
        codeless: paths of programs that hold no code at all.
    """

    job: Job
    operation: Operation
    job_path: str
    programs: tuple[ProgramText, ...]
    files: tuple[FileOf, ...]
    outside: tuple[Outside, ...]
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]
    strict: bool
    sheet_fingerprint: str
    fingerprint: str
    rule_version: int
    post_patterns: tuple[str, ...] = ()
    codeless: tuple[str, ...] = ()

    @property
    def paths(self) -> Sequence[str]:
        """The operation's own files: its job.toml and every program."""
        return (self.job_path, *(program.path for program in self.programs))

    @property
    def post(self) -> str | None:
        """The post-processors' stamps in the programs' heads (``PLUMB-MILL 1.2``, several joined by ``; ``), or None.

        Looked for when it is asked for: what is decided hangs on the code alone. Raises BadCall (``bad-pattern``).
        """
        return post_stamp(self.post_patterns, self.programs)

    @property
    def display_id(self) -> str:
        """The 8 digits that are read back at the machine."""
        return self.fingerprint[:8].upper()


def operation_text(
    tree: Tree,
    job_path: str,
    job: Job,
    operation: Operation,
    shop: Shop,
    *,
    index: ProgramIndex | None = None,
) -> OperationText:
    """Everything that belongs to ``operation`` in ``tree``.

    Args:
        tree: the state looked at.
        job_path: path of job.toml in it.
        job: the job read from there.
        operation: one of its operations.
        shop: whose machines say what is resident, and whose policy says what a post-processor's stamp looks like.
        index: kept from another operation of the same tree, so that no file is read twice.

    Raises:
        BadCall: ``program-outside``, ``missing-program`` (the main program is not there).
    """
    operation = job.operation(operation.id) or operation
    index = index or ProgramIndex(tree)
    main = main_program(index, job_path, operation)
    walk = Walk(Lookup(index, job_path, job, operation, main), residents(shop, operation.machines))
    walk.run(main)
    programs = _in_order(walk, main)
    strict = any(index.facts(program.data).names_lines for program in programs)
    prints = fingerprint_of(programs, job, operation, strict=strict, facts=index.facts)
    return OperationText(
        job=job,
        operation=operation,
        job_path=job_path,
        programs=programs,
        files=prints.files,
        outside=tuple(walk.outside.values()),
        findings=tuple(walk.findings.values()),
        notes=(*walk.notes, *_identity_notes(programs, prints.seen)),
        strict=strict,
        sheet_fingerprint=prints.sheet,
        fingerprint=prints.operation,
        rule_version=RULE_VERSION,
        post_patterns=tuple(shop.policy.post_stamp),
        codeless=tuple(p.path for p, it in zip(programs, prints.seen, strict=True) if not it.blocks),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Prints:
    """The fingerprints of an operation: of each program, of the sheet, of the whole."""

    seen: tuple[Identity, ...]
    files: tuple[FileOf, ...]
    sheet: str
    operation: str


def fingerprint_of(
    programs: Sequence[ProgramText],
    job: Job,
    operation: Operation,
    *,
    strict: bool,
    facts: Callable[[bytes], ProgramFacts] | None = None,
) -> Prints:
    """Compute them; ``programs`` with the main program first, ``facts`` looks up what a text says."""
    seen = tuple(_identity(program.data, strict=strict, facts=facts) for program in programs)
    files = tuple(_file_of(program, it) for program, it in zip(programs, seen, strict=True))
    sheet = sheet_fingerprint(job, operation)
    return Prints(
        seen=seen,
        files=files,
        sheet=sheet,
        operation=operation_fingerprint(RULE_VERSION, strict, files, sheet),
    )


def _identity(data: bytes, *, strict: bool, facts: Callable[[bytes], ProgramFacts] | None) -> Identity:
    if facts is not None:
        return facts(data).identity(data, strict=strict)
    from tracker.nc.scan import identity

    return identity(data, strict=strict)


def post_stamp(patterns: Sequence[str], programs: Sequence[ProgramText]) -> str | None:
    """The post-processors' stamps in the programs' heads, by the patterns of a shop's policy, or None.

    Raises BadCall (``bad-pattern``) for a pattern that cannot be used.
    """
    if not patterns:
        return None
    import re  # only where a shop states one

    from tracker.nc.calls import header_comments
    from tracker.nc.compare_post import post_of

    try:
        stamps = [post_of(header_comments(p.data), patterns) for p in programs]
    except (re.error, IndexError) as fault:
        raise BadCall(
            "bad-pattern",
            f"post_stamp of [policy] holds a pattern that cannot be used: {fault}",
            where="shop.toml",
            fix="write a regular expression with the groups name and version",
        ) from fault
    return "; ".join(dict.fromkeys(stamp for stamp in stamps if stamp)) or None


def main_program(index: ProgramIndex, job_path: str, operation: Operation) -> str:
    """Path of the operation's main program; a folder means the one program in it.

    Raises BadCall (``missing-program``, ``which-program``).
    """
    path = program_path(job_path, operation.program)
    if index.has(path):
        return path
    held = [p for p in index.paths if folder_of(p) == path and may_be_program(p)]
    if len(held) == 1:
        return held[0]
    if held:
        raise BadCall(
            "which-program",
            f"{operation.program} holds {len(held)} programs; which one is the main program of {operation.id}?",
            where=job_path,
            fix=f'write it as program = "{operation.program.rstrip("/")}/{name_of(held[0])}" in an [[operations]] table',
        )
    if index.tree.read(path) is not None:
        raise BadCall(
            "missing-program",
            f"{operation.id} names the program {operation.program!r}, and git leaves that file out",
            where=job_path,
            fix=f'git check-ignore -v ":/{path}" says which line of .gitignore does; a folder that is a git repository of its own '
            "is left out whole: lay the program somewhere else",
        )
    raise BadCall(
        "missing-program",
        f"{operation.id} names the program {operation.program!r}, and there is no such file",
        where=job_path,
        fix=_instead(path, index.paths),
    )


def _instead(path: str, paths: Iterable[str]) -> str:
    """What to do about a program that is not there: another file is named only where it can hardly be another program."""
    import difflib  # only a name that is not there pays for these
    import unicodedata

    def digits(name: str) -> str:  # O1001 and O1002 are near, and two programs
        return "".join(filter(str.isdecimal, name))

    there = list(paths)
    same = next((p for p in there if p.casefold() == path.casefold()), None)
    if same is not None:
        return f"did you mean {same}? Upper and lower case count"
    composed = unicodedata.normalize("NFC", path)
    if any(unicodedata.normalize("NFC", p) == composed for p in there):
        return (
            "there is a file with these letters, written with other characters (like e with an accent as one "
            "character or as two): rename the file, typing its name anew"
        )
    own = name_of(path)
    beside = [name_of(p) for p in there if folder_of(p) == folder_of(path) and digits(p) == digits(path)]
    near = difflib.get_close_matches(own, beside, n=1, cutoff=0.7)
    moved = [p for p in there if name_of(p).casefold() == own.casefold() and may_be_program(p)]
    back = f"if it was recorded, {bring_back(path)}"
    if near:
        return f"did you mean {folder_of(path)}/{near[0]}? Then put its path into job.toml; {back}"
    if len(moved) == 1:
        return f"if it was moved, and {moved[0]} is it, put that path into job.toml; {back}"
    return f"save the program there, or put its path right; {back}"


def _in_order(walk: Walk, main: str) -> tuple[ProgramText, ...]:
    """The main program first, then by O number, then by name; those without a number last."""
    programs = [_program(path, walk.data[path], walk.lookup.index) for path in walk.paths]
    return tuple(
        sorted(
            programs,
            key=lambda p: (p.path != main, p.number is None, p.number or 0, p.name.upper(), p.path),
        )
    )


def _program(path: str, data: bytes, index: ProgramIndex) -> ProgramText:
    held = index.facts(data).numbers
    return ProgramText(path=path, name=name_of(path), number=held[0] if held else None, data=data)


def _file_of(program: ProgramText, seen: Identity) -> FileOf:
    return FileOf(
        path=program.path,
        name=program.name,
        number=program.number,
        raw_sha256=seen.raw_sha256,
        fingerprint=seen.fingerprint,
        dialect=seen.dialect,
    )


def _identity_notes(programs: Sequence[ProgramText], seen: Sequence[Identity]) -> list[str]:
    notes = []
    for program, it in zip(programs, seen, strict=True):
        if it.dialect == "verbatim":
            notes.append(
                f"{program.name} is kept to the letter (another language, or binary): every change of it is code"
            )
        notes += [f"{program.name}: {note}" for note in it.notes]
    return notes
