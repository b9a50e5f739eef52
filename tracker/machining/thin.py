"""Rows of plain motion lines, found in the bytes of a program before anything else is read.

A surface is nearly all rows. A row is put aside as a stretch of bytes and only its first line stays in the text that is
read, so that time and memory are spent on the rest. Between its lines a row may hold comments that surely are only
wording. It opens and ends with a plain line, so what stands around it (comments of a tool change, say) has the
neighbours it would have in the whole text.
"""

from bisect import bisect_left
from collections.abc import Iterator, Mapping
from functools import cached_property
from types import MappingProxyType
from typing import NamedTuple

from tracker.machining.plain_lines import SHORTEST, row_pattern
from tracker.nc import scan

try:
    from tracker.machining._walker import rows as _compiled
except ImportError:  # built without a C compiler
    _compiled = None


class Row(NamedTuple):
    """A row: its bytes from ``start`` to ``end``, the physical number of its first line, and how many lines it has."""

    start: int
    end: int
    line: int
    lines: int


class Thin(NamedTuple):
    """A program without its rows.

    Attributes:
        data: the program as it is.
        text: the same with every row replaced by its first line.
        rows: physical number of such a line in ``text`` -> its row.
    """

    data: bytes
    text: bytes
    rows: Mapping[int, Row]

    def is_numbered(self, row: Row) -> bool:
        """Whether a row holds a line number (or a comment with an N)."""
        return any(self.data.find(letter, row.start, row.end) >= 0 for letter in (b"N", b"n"))


class Lines:
    """Physical numbers of lines, from their numbers in a thin text."""

    def __init__(self, rows: Mapping[int, Row]) -> None:
        self._rows = rows

    @cached_property
    def _at(self) -> list[int]:
        return list(self._rows)

    def physical(self, line: int) -> int:
        """The physical number of a line of the thin text."""
        place = bisect_left(self._at, line)
        if not place:
            return line
        before = self._rows[self._at[place - 1]]
        return line - self._at[place - 1] - 1 + before.line + before.lines


def whole(data: bytes) -> Thin:
    """A program none of whose rows is put aside."""
    return Thin(data, data, MappingProxyType({}))


def thin(data: bytes, *, coded: bool = True) -> Thin:
    """Put the rows of a program aside; if not ``coded`` only those of lines without G, with no comment between them."""
    found = found_rows(data, coded=coded)
    if not found:
        return whole(data)
    rows: dict[int, Row] = {}
    parts: list[bytes] = []
    at = taken = 0
    for row in found:
        first_ends = data.index(b"\n", row.start) + 1
        parts.append(data[at:first_ends])
        rows[row.line - taken] = row
        taken += row.lines - 1
        at = row.end
    parts.append(data[at:])
    return Thin(data, b"".join(parts), rows)


def found_rows(data: bytes, *, coded: bool = True) -> list[Row]:
    """All rows of a program, in order."""
    if _compiled is not None and scan.engine() == "compiled":
        return [Row(*row) for row in _compiled(data, SHORTEST, coded)]
    return list(_searched(data, coded=coded))


def _searched(data: bytes, *, coded: bool) -> Iterator[Row]:
    line, counted = 1, 0
    for match in row_pattern(SHORTEST, coded=coded).finditer(data):
        start, end = match.span()
        line += data.count(b"\n", counted, start)
        lines = data.count(b"\n", start, end)
        yield Row(start, end, line, lines)
        line, counted = line + lines, end
