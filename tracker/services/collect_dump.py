"""A file that holds several programs: what a control writes when it is told to send all of them.

The file is cut where a line opens a program with its O number. What stands before the first one, and the ``%`` lines and
blank lines around a program, belong to the sending and to no program. A file that is itself one text of ours, or one
edited, is never cut, however many numbers it holds.
"""

import re
from dataclasses import dataclass

from tracker.nc.calls import program_lines

MOST = 2000
"""Programs of one file that are looked at; a control holds fewer."""
_EDGE = re.compile(rb"(?:[ \t]*%[ \t]*(?:[\r\n]+|\Z)|[ \t\x00\x11-\x14\x1a\x7f]*(?:[\r\n]+|\Z))+\Z")


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One program of such a file: its number, and the bytes of the file it is."""

    number: int
    start: int
    end: int


def parts_of(data: bytes) -> tuple[Part, ...]:
    """The programs of a file that holds at least two, in their order; else nothing."""
    lines = program_lines(data)
    if not 2 <= len(lines) <= MOST:
        return ()
    starts = _starts_of(data, [at for at, _ in lines])
    ends = [*starts[1:], len(data)]
    found = []
    for (_, number), start, end in zip(lines, starts, ends, strict=True):
        edge = _EDGE.search(data, max(start, end - _LONGEST_EDGE), end)
        found.append(
            Part(number=number, start=start, end=_with_line_end(data, edge.start(), end) if edge else end)
        )
    return tuple(found)


_LONGEST_EDGE = 4096


def _with_line_end(data: bytes, at: int, end: int) -> int:
    """Behind the line end that stands at ``at``, if one does."""
    for line_end in (b"\r\n", b"\n", b"\r"):
        if data.startswith(line_end, at, end):
            return at + len(line_end)
    return at


def _starts_of(data: bytes, wanted: list[int]) -> list[int]:
    """Where these physical lines (from 1, ascending) begin; parted by LF, or by CR in a file without LF."""
    end = b"\n" if b"\n" in data else b"\r"
    starts: list[int] = []
    line, at = 1, 0
    for number in wanted:
        while line < number:
            at = data.index(end, at) + 1
            line += 1
        starts.append(at)
    return starts
