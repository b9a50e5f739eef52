"""A file that holds several programs: what a control writes when it is told to send all of them.

The file is cut where a line opens a program with its O number. What stands before the first one, and the ``%`` lines and
blank lines around a program, belong to the sending and to no program. A text of ours that holds several programs is one
part, and a file that is itself one text of ours, or one edited, is never cut, however many numbers it holds.
"""

import re
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from tracker.errors import CouldNot
from tracker.nc.calls import program_lines, program_numbers
from tracker.services.collect_base import Base, holds_several
from tracker.services.known import Known, KnownTexts

MOST = 2000
"""Programs of one file that are looked at; a control holds fewer."""
_EDGE = re.compile(rb"(?:[ \t]*%[ \t]*(?:[\r\n]+|\Z)|[ \t\x00\x11-\x14\x1a\x7f]*(?:[\r\n]+|\Z))+\Z")


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One program of such a file: its number, and the bytes of the file it is."""

    number: int
    start: int
    end: int


def programs_in(data: bytes, base: Base | None, known: KnownTexts) -> tuple[Part, ...]:
    """What a file is to be judged as, part by part; nothing where it is one text, ``base`` with an edit perhaps."""
    parts = _whole_texts(data, parts_of(data), known)
    if len(parts) < 2 or (base is not None and holds_several(base) and not _others(parts, base, known)):
        return ()
    return parts


def _others(parts: Sequence[Part], base: Base, known: KnownTexts) -> bool:
    """Whether programs of other texts than ``base`` are among them: nobody writes those into one."""
    own = set(program_numbers(base.data))
    return any(known.by_number([part.number]) for part in parts if part.number not in own)


def _whole_texts(data: bytes, parts: Sequence[Part], known: KnownTexts) -> tuple[Part, ...]:
    """The parts, with those that follow each other in a text of several programs made one."""
    numbers = [part.number for part in parts]
    found: list[Part] = []
    at = 0
    while at < len(parts):
        part = parts[at]
        several = () if known.content(data[part.start : part.end]).known else _texts_under(part.number, known)
        count = max((len(text) for text in several if numbers[at : at + len(text)] == list(text)), default=1)
        found.append(replace(part, end=parts[at + count - 1].end))
        at += count
    return tuple(found)


def _texts_under(number: int, known: KnownTexts) -> tuple[Sequence[int], ...]:
    """The O numbers of each text of several programs that goes by this one."""
    newest: dict[tuple[str, str, str], Known] = {
        (one.job, one.operation, one.file.path): one for one in known.by_number([number])
    }
    found: list[Sequence[int]] = []
    for text in newest.values():
        with suppress(CouldNot):  # lost: nothing is known of what it held
            found.append(program_numbers(known.bytes_of(text)))
    return tuple(one for one in found if len(one) > 1)


def parts_of(data: bytes) -> tuple[Part, ...]:
    """The programs of a file that holds at least two, in their order; else nothing."""
    lines = program_lines(data)
    if not 2 <= len(lines) <= MOST:
        return ()
    starts = [_behind_line_end(data, at) for at in _starts_of(data, [at for at, _ in lines])]
    ends = [*starts[1:], len(data)]
    found = []
    for (_, number), start, end in zip(lines, starts, ends, strict=True):
        edge = _EDGE.search(data, max(start, end - _LONGEST_EDGE), end)
        found.append(
            Part(number=number, start=start, end=_with_line_end(data, edge.start(), end) if edge else end)
        )
    return tuple(found)


_LONGEST_EDGE = 4096
_LINE_END = re.compile(rb"\r+\n|\n\r*|\r")


def _with_line_end(data: bytes, at: int, end: int) -> int:
    """Behind the line end that stands at ``at``, if one does: CR LF, LF, CR, and what controls write besides."""
    found = _LINE_END.match(data, at, end)
    return found.end() if found else at


def _behind_line_end(data: bytes, at: int) -> int:
    """Where a line begins whose place was told by the LF: behind the CRs of LF CR CR."""
    while data.startswith(b"\r", at):
        at += 1
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
