"""Plain tables and lines for people: no frame, one accent for what stops, nothing of what a user wrote taken for markup.

Columns are as wide as what stands in them; the last one takes what is left of the line and wraps there, so that a
table stays readable at 80 columns.
"""

import re
import textwrap
from collections.abc import Container, Iterator, Sequence
from typing import TYPE_CHECKING

from tracker.reports.screen import ACCENT

if TYPE_CHECKING:
    from tracker.reports.screen import Screen

GAP = "  "
INDENT = "    "
_LEAST_LAST = 16
# "next: proveout ...", "to clear it: proveout ...": from there to the end, and nothing else goes on after it
_COMMAND = re.compile(r'(?<=: )(?:proveout|git) (?:[^,;"]|"[^"]*")*$')
_LABEL = 40


def visible(text: str) -> str:
    """``text`` on one line and without control characters, which a terminal would obey: ``?`` stands for each."""
    return "".join(mark if mark.isprintable() else " " if mark in "\t\r\n" else "?" for mark in text)


def table_lines(
    headers: Sequence[str],
    rows: Sequence[Sequence[str]],
    width: int,
    *,
    below: Sequence[Sequence[str]] = (),
    paths: bool = False,
) -> list[str]:
    """The lines of a table, ``width`` columns wide where the first columns allow it.

    ``below``: sentences to stand under each row, folded and set in. ``paths``: the first column holds paths, of which
    long ones stand on a line of their own where they would push the others past the width.
    """
    return [line for _, line in _numbered(headers, rows, width, below, paths=paths)]


def _numbered(
    headers: Sequence[str],
    rows: Sequence[Sequence[str]],
    width: int,
    below: Sequence[Sequence[str]],
    *,
    paths: bool,
) -> Iterator[tuple[int | None, str]]:
    """The lines of a table; with the one a row begins on stands the number of the row, from 0."""
    cells = [[visible(cell) for cell in row] for row in rows]
    fixed = len(headers) - 1
    wide = [max(len(row[at]) for row in [list(headers), *cells]) for at in range(fixed)]
    if paths:
        room = width - sum(wide[1:]) - len(GAP) * fixed - _LEAST_LAST
        wide[0] = max([len(headers[0]), *(len(row[0]) for row in cells if len(row[0]) <= room)])
    left = max(width - sum(wide) - len(GAP) * fixed, _LEAST_LAST)
    yield None, _line(headers, wide)
    for at, row in enumerate(cells):
        last = textwrap.wrap(row[-1], left, break_on_hyphens=False) or [""]
        if len(row[0]) > wide[0]:
            yield at, row[0]
            yield None, _line(["", *row[1:-1], last[0]], wide)
        else:
            yield at, _line([*row[:-1], last[0]], wide)
        for more in last[1:]:
            yield None, _line([""] * fixed + [more], wide)
        for sentence in below[at] if below else ():
            yield from ((None, line) for line in folded(sentence, width, indent=INDENT))


def print_table(
    console: "Screen",
    headers: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    below: Sequence[Sequence[str]] = (),
    accents: Container[int] = (),
    paths: bool = False,
) -> None:
    """Print a table as wide as the console; the rows ``accents`` numbers, from 0, stand out where there is colour."""
    for at, line in _numbered(headers, rows, console.width, below, paths=paths):
        say(console, line, accent=at in accents)


def say(console: "Screen", *lines: str, accent: bool = False) -> None:
    """Print lines as they are, longer ones unbroken."""
    style = ACCENT if accent else None
    for line in lines:
        console.print(line, markup=False, highlight=False, emoji=False, soft_wrap=True, style=style)


def wrapped(console: "Screen", text: str, indent: str = "", *, accent: bool = False) -> None:
    """Print a sentence folded to the console's width."""
    say(console, *folded(text, console.width, indent=indent), accent=accent)


def folded(text: str, width: int, *, indent: str = "") -> list[str]:
    """A sentence as lines of at most ``width`` columns, each set in by ``indent``.

    A command it ends with stays on one line however long: it is copied from the screen.
    """
    shown = visible(text)
    command = _COMMAND.search(shown)
    if command is None:
        return _fold(shown, width, indent)
    lines = _fold(shown[: command.start()], width, indent)
    with_it = f"{lines[-1]} {command[0]}"
    if len(with_it) < width or (len(lines) == 1 and len(lines[0]) < _LABEL):
        return [*lines[:-1], with_it]
    return [*lines, f"{indent}  {command[0]}"]


def _fold(text: str, width: int, indent: str) -> list[str]:
    return textwrap.wrap(
        text,
        max(width - 1, 40),
        initial_indent=indent,
        subsequent_indent=indent,
        break_on_hyphens=False,
        break_long_words=False,  # a path is copied from the screen too
    )


def _line(cells: Sequence[str], wide: Sequence[int]) -> str:
    padded = [cell.ljust(width) for cell, width in zip(cells, wide, strict=False)]
    return GAP.join([*padded, cells[-1]]).rstrip()
