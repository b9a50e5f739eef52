"""The changes of a comparison as lines: one below the other, or side by side where the screen is wide enough.

Both stand under their tool with its name. Nothing is drawn and nothing hangs on colour: ``was`` and ``is`` are words.
"""

import textwrap
from collections.abc import Iterator, Mapping
from itertools import groupby
from typing import TYPE_CHECKING

from tracker.reports.table import visible

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tracker.nc.compare_change import Side
    from tracker.services.comparing_files import CompareReport, ShownChange

WIDE = 120
"""Columns from which two texts fit side by side: a block of 40 characters and more on each side."""
KIND = 15
_LINE = 6
_GAP = 3
_NAME = 20
_WORD = 5
_LEAST = 20
NOTHING, TAKEN_OUT = "(nothing)", "(taken out)"


def change_lines(
    report: "CompareReport", shown: "Sequence[ShownChange]", width: int, *, unified: bool
) -> Iterator[str]:
    """The lines of the changes ``shown``, file by file and tool by tool."""
    names = tool_names(report)
    side_by_side = width >= WIDE and not unified
    column = (width - 4 - KIND - 1 - 2 * (_LINE + 2) - _GAP) // 2
    for file, changes in groupby(shown, key=lambda change: change.file):
        own = [*changes]
        yield visible(file)
        if side_by_side and any(change.old or change.new for change in own):
            yield _heading(report, column)
        for tool, of_tool in groupby(own, key=lambda change: change.tool):
            yield _tool_line(tool, names.get((file, tool or "")))
            for (old, new, words), kinds in groupby(of_tool, key=_place):
                named = ", ".join(dict.fromkeys(change.kind for change in kinds))
                if old is None and new is None:
                    yield f"    {named:<{KIND - 1}} {visible(words or '')}".rstrip()
                else:
                    yield from (
                        _beside(named, old, new, column) if side_by_side else _below(named, old, new, width)
                    )


def tool_names(report: "CompareReport") -> Mapping[tuple[str, str], str]:
    """(file, tool) -> what it is called: on the setup sheet, else in the comments of the newer or older program."""
    found = {(one.file, one.tool): one.name for one in report.tool_names}
    for effect in report.effect:
        for summary in (effect.new, effect.old):
            for tool in summary.tools:
                if tool.tool and tool.description:
                    found.setdefault((effect.file, tool.tool), tool.description)
    return found


def _tool_line(tool: str | None, name: str | None) -> str:
    if not tool:
        return "  before the first tool, or of the whole file"
    return f"  T{visible(tool)}  {visible(name)}" if name else f"  T{visible(tool)}"


def _place(change: "ShownChange") -> "tuple[Side | None, Side | None, str | None]":
    """Kinds of change of one block are named together."""
    return change.old, change.new, change.words


def _below(kinds: str, old: "Side | None", new: "Side | None", width: int) -> Iterator[str]:
    was = _side(old, "was", width) if old else [f"was  {NOTHING}"]
    now = _side(new, "is ", width) if new else [f"is   {TAKEN_OUT}"]
    if len(kinds) >= KIND:
        yield f"    {kinds}"
        kinds = ""
    for at, line in enumerate([*was, *now]):
        yield f"    {kinds if at == 0 else '':<{KIND}}{line}"


def _side(side: "Side", word: str, width: int) -> list[str]:
    """The text after its word and the number of its line behind it; folded where it does not fit, the number whole."""
    text, number = visible(side.text), f"(line {side.line})"
    room = max(width - 4 - KIND - _WORD, _LEAST)
    if len(text) + _GAP + len(number) <= room:
        return [f"{word}  {text}{'':{_GAP}}{number}"]
    parts = [*(textwrap.wrap(text, room, break_on_hyphens=False) or [""]), number]
    return [f"{word if at == 0 else '':3}  {part}" for at, part in enumerate(parts)]


def _heading(report: "CompareReport", column: int) -> str:
    """``was`` and ``is`` over their columns, with the name of each side where it is short enough to help."""
    was, now = (
        f"{'line':>{_LINE}}  {word}{_short(name, column - len(word) - 2)}"
        for word, name in (("was", report.old), ("is", report.new))
    )
    return _row("", was, now, column)


def _short(name: str, room: int) -> str:
    shown = visible(name)
    return f": {shown}" if 0 < len(shown) <= min(room, _NAME + 20) else ""


def _beside(kinds: str, old: "Side | None", new: "Side | None", column: int) -> Iterator[str]:
    was = _cell(old, NOTHING, column)
    now = _cell(new, TAKEN_OUT, column)
    if len(kinds) > KIND:
        yield f"    {kinds}"
        kinds = ""
    for at in range(max(len(was), len(now))):
        left, right = was[at] if at < len(was) else "", now[at] if at < len(now) else ""
        yield _row(kinds if at == 0 else "", left, right, column)


def _cell(side: "Side | None", missing: str, column: int) -> list[str]:
    """Line number and text, the text folded at blanks, or anywhere where it has none."""
    if side is None:
        return [f"{'':{_LINE}}  {missing}"]
    parts = textwrap.wrap(visible(side.text), column, break_on_hyphens=False) or [""]
    numbers = [str(side.line), *[""] * (len(parts) - 1)]
    return [f"{number:>{_LINE}}  {part}" for number, part in zip(numbers, parts, strict=True)]


def _row(kind: str, was: str, now: str, column: int) -> str:
    return f"    {kind:<{KIND}} {was:<{_LINE + 2 + column + _GAP}}{now}".rstrip()
