"""Which tool sections of an operation's main program a change touches: there, in called programs, on the sheet.

A called program's change belongs to every section that calls it. Where that cannot be told (two programs answer to a
number, a file holds several programs, the walk meets no call of a program that changed) the answer is all sections.
"""

from collections.abc import Mapping, Sequence

from tracker.machining.section_list import sections
from tracker.machining.sections import ALL, changed_sections
from tracker.nc.compare import Comparison
from tracker.nc.scan import read
from tracker.services.call_lookup import numbers_of
from tracker.services.program_text import ProgramText

Tools = tuple[str, ...] | None


def program_sections(
    old: Sequence[ProgramText],
    new: Sequence[ProgramText],
    changed: Sequence[tuple[ProgramText, ProgramText]],
    main: Comparison,
    *,
    strict: bool,
) -> Tools:
    """Tools whose sections the change of programs touches, None for all.

    Args:
        old: the programs as they were, main first.
        new: as they are.
        changed: the called programs whose code changed, as (was, is).
        main: what was said of the two main programs.
        strict: every line number counts as code.
    """
    before, after = called_programs(old), called_programs(new)
    if changed and (before is None or after is None):
        return None
    was, now = old[0].data, new[0].data
    found = changed_sections(
        was,
        now,
        None if was == now else main,
        strict=strict,
        lathe=main.lathe,
        called=after or {},
        called_before=before or {},
    )
    tools = dict.fromkeys(found) if found != ALL else None
    for old_one, new_one in changed:
        alone = _alone(now, old_one, new_one, after or {}, strict=strict, lathe=main.lathe)
        if tools is None or not alone:
            return None
        tools |= dict.fromkeys(alone)
    if tools is None or (not tools and not main.same_code):
        return None
    return tuple(tools)


def sheet_sections(main: bytes, tools: Sequence[int] | None, *, lathe: bool) -> Tools:
    """The sections of tools of the sheet, as the main program names them (T0101 is tool 1); None for all."""
    if tools is None:
        return None
    named = [section.tool for section in sections(read(main)) if section.tool is not None]
    found: dict[str, None] = {}
    for number in tools:
        own = [tool for tool in named if number in _numbers(tool, lathe=lathe)]
        found |= dict.fromkeys(own or [str(number)])
    return tuple(found)


def joined(*parts: Tools) -> Tools:
    """Several answers together; all when one of them is all."""
    found: dict[str, None] = {}
    for part in parts:
        if part is None:
            return None
        found |= dict.fromkeys(part)
    return tuple(found)


def called_programs(programs: Sequence[ProgramText]) -> Mapping[int, bytes] | None:
    """The called programs by number; None where a number or a file does not name exactly one program."""
    found: dict[int, bytes] = {}
    for program in programs[1:]:
        numbers = numbers_of(program.path, program.data)
        if len(numbers) != 1 or numbers[0] in found:
            return None
        found[numbers[0]] = program.data
    return found


def _alone(
    main: bytes, was: ProgramText, now: ProgramText, after: Mapping[int, bytes], *, strict: bool, lathe: bool
) -> Tools:
    """The sections one changed program touches by itself; None or nothing where that cannot be told."""
    (number,) = numbers_of(now.path, now.data) or (None,)
    if number is None or after.get(number) != now.data:
        return None
    before = {**after, number: was.data}
    found = changed_sections(main, main, strict=strict, lathe=lathe, called=after, called_before=before)
    return None if found == ALL else tuple(found)


def _numbers(tool: str, *, lathe: bool) -> tuple[int, ...]:
    """The tool numbers a T may mean: T5, and on a lathe T0101 as station 1 with its offset."""
    if not tool.isdigit():
        return ()
    whole = (int(tool),)
    return (*whole, int(tool[:-2])) if lathe and len(tool) in (3, 4) else whole
