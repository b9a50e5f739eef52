"""Tool sections: from a tool change to the next.

Blocks before the first tool change belong to all sections; a subprogram belongs to every section that calls it.
"""

import re
from dataclasses import dataclass

from tracker.nc.canonical import Reading
from tracker.nc.compare_find import start_of
from tracker.nc.compare_tools import tool_changes

COMMENT = re.compile(r"\(([^()]*)\)|;(.*)")


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolSection:
    """One tool section.

    Attributes:
        tool: the T of its tool change as text (``"4"``, ``"0101"``), None if none can be told.
        first: block index of its tool change.
        last: block index of its last block.
        line: physical line of its tool change.
        number: the N of its tool change as written (``"N480"``), None if it has none.
        description: the comment nearest to its tool change: on its line, before it or after it; None if there is none.
    """

    tool: str | None
    first: int
    last: int
    line: int
    number: str | None
    description: str | None


def sections(reading: Reading) -> tuple[ToolSection, ...]:
    """The tool sections of a program, in order; none in a verbatim file."""
    if reading.dialect != "word-address":
        return ()
    changes = tool_changes(reading.code)
    if not changes:
        return ()
    ends = [change.block - 1 for change in changes[1:]] + [len(reading.lines) - 1]
    return tuple(
        ToolSection(
            tool=change.tool,
            first=change.block,
            last=last,
            line=reading.lines[change.block],
            number=_number(reading, change.block),
            description=_description(reading, change.block),
        )
        for change, last in zip(changes, ends, strict=True)
    )


def _number(reading: Reading, block: int) -> str | None:
    """The N of a block as written: the last one before it, or the one that stays in it as code."""
    taken = [text for text in _line(reading.numbering, block).split(" ") if text[:1] in "Nn" and text]
    if taken:
        return taken[-1].strip().upper().replace(" ", "")
    match = re.match(r"/?\d?(N[0-9.]+)", _line(reading.code, block))
    return match.group(1) if match else None


def _description(reading: Reading, block: int) -> str | None:
    """The nearest comment. One before the tool change may be its own line, so the last of them is the nearest."""
    for place in (block, block + 1):
        if place <= len(reading.lines):
            found = [_inner(match) for match in COMMENT.finditer(_line(reading.wording, place))]
            texts = [text for text in found if text]
            if texts:
                return texts[-1] if place == block else texts[0]
    return None


def _inner(match: re.Match[str]) -> str:
    return " ".join((match.group(1) or match.group(2) or "").split())


def _line(strand: bytes, index: int) -> str:
    start = start_of(strand, index)
    end = strand.find(b"\n", start)
    return strand[start : end if end >= 0 else None].decode("latin-1")
