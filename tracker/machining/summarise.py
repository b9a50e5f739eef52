"""What a program does, in figures, from its bytes."""

import gc
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

from tracker.frozen import replace
from tracker.machining.run_through import run_tally
from tracker.machining.section_list import sections
from tracker.machining.setting import Setting
from tracker.machining.summary import Summary, ToolSummary
from tracker.machining.tally import Tally
from tracker.machining.texts import NotThinError
from tracker.machining.thin import Lines, Thin, thin, whole
from tracker.nc.canonical import Reading
from tracker.nc.compare_tools import reads_as_lathe
from tracker.nc.dialect import WORD_ADDRESS
from tracker.nc.scan import read

LATHE_GUESS = "read as a lathe program, as its words suggest"
T_GUESS = "T taken as changing the tool: the program has no M6"
_M6 = re.compile(rb"M6(?![0-9])")
_T = re.compile(rb"(?m)^[^(;\n]*T[0-9]")
MILL_GUESS = "read as a mill program: nothing in the text says mill or lathe"


def summarise(data: bytes, setting: Setting, reading: Reading | None = None) -> Summary:
    """What a program does.

    Args:
        data: its bytes.
        setting: what is known of the machine and the programs it calls.
        reading: its reading, if there is one already.
    """
    if reading is not None:
        return _summarise(whole(data), setting, reading, whole)
    found = thin(data)
    reading = read(found.text)
    if reading.dialect == WORD_ADDRESS:
        with suppress(NotThinError):
            return _summarise(found, setting, reading, thin)
    return _summarise(whole(data), setting, read(data) if found.rows else reading, whole)


def _summarise(
    data: Thin, setting: Setting, reading: Reading, read_called: Callable[[bytes], Thin]
) -> Summary:
    """The same of a program of which maybe rows were put aside; ``reading`` is that of its text.

    Raises:
        NotThinError: it is to be done whole, and what it calls too.
    """
    lathe, guesses = judge_lathe(reading, setting)
    t_changes = not lathe and changes_by_t(reading)
    if t_changes:
        guesses = (*guesses, T_GUESS)
    tally = Tally(setting.max_rpm)
    setting = replace(setting, lathe=lathe, t_changes=t_changes)
    with _uncollected():
        control = run_tally(data, setting, tally, read_called)
    told = tally.summary(units=control.base or control.units or setting.units, lathe=lathe, guesses=guesses)
    lines = Lines(data.rows)
    described = {lines.physical(one.line): one.description for one in sections(reading) if one.description}
    tools = [_described(tool, described) if tool.tool in tally.own else tool for tool in told.tools]
    return replace(told, tools=tuple(tools))


@contextmanager
def _uncollected() -> Iterator[None]:
    """No search for cycles meanwhile: a run keeps its lines, which hold none, and the search costs a third of it."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def judge_lathe(reading: Reading, setting: Setting) -> tuple[bool, tuple[str, ...]]:
    """Whether words have lathe meanings, and what is to be said about it."""
    if setting.lathe is not None:
        return setting.lathe, ()
    words_say = reads_as_lathe(reading.code)
    if words_say is None:
        return False, (MILL_GUESS,)
    return words_say, (LATHE_GUESS,) if words_say else ()


def changes_by_t(reading: Reading) -> bool:
    """Whether a program of a mill has T words and no M6, so that T must be what changes the tool."""
    return _M6.search(reading.code) is None and _T.search(reading.code) is not None


def _described(tool: ToolSummary, described: dict[int, str]) -> ToolSummary:
    """The comment nearest to its tool change; one found on the way stays where the text tells none."""
    return replace(tool, description=described.get(tool.line, tool.description))
