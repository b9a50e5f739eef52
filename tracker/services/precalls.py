"""``verify --fix precalls``: an operation's main program with the pre-calls a side-mount changer wants.

Nothing is written here: the answer holds the text and says where it is to go. It is written beside the program under a
name that no call and no check-in takes for a program (`SUFFIX`), or with ``in_place`` over it, and then only when the
program is as it was committed.
"""

from collections.abc import Iterable

from tracker.checks.precalls_written import NotWrittenError, changes_without_tool, with_precalls
from tracker.checks.rules.precall import SIDE_MOUNT
from tracker.checks.spans import lines_of
from tracker.errors import BadCall, Refused
from tracker.frozen import dataclass, replace
from tracker.nc.codes import code_of
from tracker.nc.compare import compare
from tracker.nc.dialect import WORD_ADDRESS
from tracker.nc.word import words
from tracker.records.shop import Machine, Shop
from tracker.services.desk import Desk
from tracker.services.locate import find_job, find_operation
from tracker.services.machine_named import machine_named
from tracker.services.naming import Named
from tracker.services.operation_text import OperationText, operation_text
from tracker.services.program_text import ProgramText
from tracker.services.verifying import verified

SUFFIX = ".precalls"
_RULES = frozenset(("no-precall", "precall-wrong", "two-precalls"))
_BY_HAND = "write the T words by hand, from the end of the program upwards"


@dataclass(frozen=True, slots=True, kw_only=True)
class PrecallsReport:
    """The text with its pre-calls.

    Attributes:
        job, operation, machines: of what, and for which machines.
        source: path of the program; ``path`` where the text is to go, None where nothing is to be done.
        data: the text.
        added, corrected: (line of the original, tool) of each pre-call.
        there: the same text stands at ``path`` already.
    """

    job: str
    operation: str
    machines: tuple[str, ...]
    source: str
    path: str | None
    data: bytes
    added: tuple[tuple[int, int], ...]
    corrected: tuple[tuple[int, int], ...]
    there: bool = False


def precalls(
    desk: Desk, named: Named, machine: str | None = None, *, in_place: bool = False
) -> PrecallsReport:
    """Work the text out, and hold it against its rules and against the original.

    Raises:
        BadCall: unknown names; ``file-exists`` where another text lies at the place.
        Refused: ``precalls-not-written`` with the reason; ``uncommitted-edits`` (``in_place``).
    """
    tree = desk.repo.work_tree()
    shop = tree.shop()
    path = find_job(tree, named.job, recorded=desk.repo.tree)
    job = tree.job(path)
    text = operation_text(tree, path, job, find_operation(job, named.operation), shop)
    machines = _side_mounts(text, shop, machine)
    main = text.programs[0]
    if text.files[0].dialect != WORD_ADDRESS:
        raise _refused("the program is not in words this tool reads", main.path, None)
    _no_changes_elsewhere(text.programs[1:])
    try:
        written = with_precalls(main.data)
    except NotWrittenError as fault:
        raise _refused(fault.why, main.path, fault.line) from fault
    report = PrecallsReport(
        job=job.number,
        operation=text.operation.id,
        machines=tuple(one.id for one in machines),
        source=main.path,
        path=None,
        data=written.data,
        added=written.added,
        corrected=written.corrected,
    )
    if not written.changes:
        return report
    _held_against(text, written.data, shop, machines)
    if in_place:
        _as_committed(desk, main.path)
        return replace(report, path=main.path)
    beside = main.path + SUFFIX
    there = tree.read(beside)
    if there is not None and there != written.data:
        raise BadCall(
            "file-exists",
            "another text lies there already",
            where=beside,
            fix="look whether it is still wanted, and take it away",
        )
    return replace(report, path=beside, there=there is not None)


def _side_mounts(text: OperationText, shop: Shop, machine: str | None) -> tuple[Machine, ...]:
    """The machines the pre-calls are for; raises Refused where one of them has another changer."""
    names = text.operation.machines if machine is None else (machine,)
    machines = tuple(machine_named(shop, name) for name in names)
    if not machines:
        raise _refused("the operation names no machine", text.job_path, None, "say --machine")
    for one in machines:
        if one.changer is None:
            raise _refused(
                f"changer of {one.id} is not stated", "shop.toml", None, 'write changer = "side-mount"'
            )
        if one.changer != SIDE_MOUNT:
            wants = "a T without M6 may turn its magazine" if one.changer == "umbrella" else "it wants none"
            raise _refused(
                f"the changer of {one.id} is {one.changer}: {wants}",
                text.job_path,
                None,
                "say --machine with a machine that has a side-mount changer",
            )
    return machines


def _no_changes_elsewhere(called: Iterable[ProgramText]) -> None:
    for program in called:
        for at, line in enumerate(lines_of(program.data), 1):
            for word in words(line):
                if word.letter == "T" or (word.letter == "M" and code_of(word.number) == "6"):
                    raise _refused("a called program calls or changes tools", program.path, at)


def _held_against(text: OperationText, data: bytes, shop: Shop, machines: tuple[Machine, ...]) -> None:
    """The result passes its rules, and compares as pre-calls and wording only; else nothing is written."""
    main = text.programs[0]
    fixed = replace(text, programs=(replace(main, data=data), *text.programs[1:]))
    for machine in machines:
        for finding in verified(fixed, shop, machine).findings:
            if finding.rule in _RULES:
                raise _refused(f"there would still be: {finding.message}", main.path, None)
    other = set(compare(main.data, data).kinds) - {"precall", "wording"}
    bare = changes_without_tool(main.data) if "tool" in other else ()
    if bare:
        line, tool, called_at = bare[0]
        more = f", and so at {len(bare) - 1} more" if len(bare) > 1 else ""
        raise _refused(
            "M6 has no T in its own block, so every T before it may be the tool it changes to",
            main.path,
            line,
            f"write {tool} before the M6 on line {line}, take the {tool} of line {called_at} away{more}; "
            "then ask again",
        )
    if other:
        raise _refused(f"it would change more than pre-calls: {', '.join(sorted(other))}", main.path, None)


def _as_committed(desk: Desk, path: str) -> None:
    if desk.repo.uncommitted([path]):
        raise Refused(
            "uncommitted-edits",
            "the program is not as it was committed; writing over it would mix two edits",
            where=path,
            fix="check it in first, or leave --in-place out: the text is then written beside it",
        )


def _refused(why: str, path: str, line: int | None, fix: str = _BY_HAND) -> Refused:
    return Refused(
        "precalls-not-written",
        f"no pre-calls were written: {why}",
        where=path if line is None else f"{path}:{line}",
        fix=fix,
    )
