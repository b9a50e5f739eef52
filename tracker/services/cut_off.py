"""Whether a program's end is missing: the transfer was cut, or the stick was pulled.

What is told, first hit: no code at all; a CR at the end that its LF never followed, in a file with line feeds; a last
line without a line end that nobody can read, where the lines before it can be read; a ``%`` that opens and none that
closes; against the text it should be, a beginning of it and no more, or an end of program that is not there. Without
such a text only the others can be told, and many a text file has no end of program. A text that ends as it should may
have lost blocks all the same, and nobody but a person at the control can tell that from an edit (`shortened`).
"""

import re

from tracker.nc import scan
from tracker.nc.calls import program_numbers
from tracker.policy.spelled import counted

VERBATIM = "verbatim"
LEAST_LEFT = 0.9
"""A text with less than this share of the code it had may be one that lost blocks on its way (common practice, no source)."""
FEW_LOST = 40
"""Characters of code fewer than which a text with all its blocks may be short of; about two blocks (common practice, no source)."""

_END = re.compile(rb"M(?:2|30|99)(?![0-9.])")
"""What ends a program: M2, M30, of a called one M99 (NISTIR 6556 section 3.6.1; M99 common practice, no source)."""


_NUMBER = re.compile(rb"(?m)^(/?[1-9]?)N\d+(?=.)")
_END_MARK = re.compile(rb"[ \t]*;[ \t]*\Z")
_HALF_END = re.compile(rb"(?<![\r\n])\r+\Z")


def without_half_end(data: bytes) -> bytes:
    """The text without a line end that was cut in two."""
    return _HALF_END.sub(b"", data) if b"\n" in data else data


def to_find(data: bytes) -> bytes:
    """The text without what was cut in two; for finding out what it was to be, never for what it says."""
    return whole_lines(data) if half_block(data) else without_half_end(data)


def whole_lines(data: bytes) -> bytes:
    """The lines that end: one block cut in two (``N130 G``) makes all of a text none that can be read.

    Without any line end, all of it.
    """
    end = data.rfind(b"\n") if b"\n" in data else data.rfind(b"\r")
    return data[: end + 1] if end >= 0 else data


def bare_blocks(code: bytes) -> list[bytes]:
    """The blocks of a canonical form without line numbers, and without the ``;`` some controls end each block with.

    One line that does not read as words makes every line number code, and a ``;`` always is; how much two texts share
    neither changes.
    """
    bare = _NUMBER.sub(rb"\1", code)
    if b";" in bare:
        return [block for line in bare.split(b"\n") if (block := _END_MARK.sub(b"", line))]
    return bare.split(b"\n")[:-1]


def half_block(data: bytes) -> bool:
    """Whether a last line without a line end is all that keeps the text from being read; NULs in it are damage."""
    lines = whole_lines(data)
    if lines == data or b"\x00" in data[len(lines) :]:
        return False
    return scan.identity(data).dialect == VERBATIM and scan.identity(lines).dialect != VERBATIM


def cut_off(data: bytes, like: bytes | None = None) -> str | None:
    """Why the text is not whole, in words; None if nothing speaks for it. ``like``: the text it should be."""
    if not data:
        return "the file is empty"
    if without_half_end(data) != data:
        return "it stops in the middle of a line end"
    if half_block(data):
        return "it stops in the middle of a block"
    blocks = bare_blocks(scan.canonical(data))
    if not blocks:
        return "no code is left in it"
    opens = blocks[0].startswith(b"%")
    if opens and not any(block.startswith(b"%") for block in blocks[1:]):
        return "it opens with % and no % closes it"
    return (
        None if like is None else _against(blocks[1:] if opens else blocks, bare_blocks(scan.canonical(like)))
    )


def parted(data: bytes, like: bytes) -> str | None:
    """Of a whole text that is some of the programs of ``like`` only: which are not in it, and what to do; else None."""
    here, every = set(program_numbers(data)), program_numbers(like)
    blocks = bare_blocks(scan.canonical(data)) if here and here < set(every) else []
    if not blocks or not _ends(blocks[-1]):
        return None
    lost = ", ".join(f"O{number:04}" for number in dict.fromkeys(every) if number not in here)
    return f"{lost} of the same file is not in it: a control keeps programs apart; put them into one file again and collect that"


def shortened(data: bytes, like: bytes) -> str | None:
    """How little of ``like`` a text holds, where that is less than `LEAST_LEFT`; else None.

    For one that ends as it should, or whose end nobody can tell. Measured in characters of code, so that comments and line numbers a control drops count for nothing. A few shorter words
    of a short program, with no block gone, are an edit like another: each of these changes is named.
    """
    here, whole = (bare_blocks(scan.canonical(text)) for text in (data, like))
    left, had = (sum(map(len, blocks)) for blocks in (here, whole))
    if left >= LEAST_LEFT * had:
        return None
    there = bool(here) and (_ends(here[-1]) or here[-1] == whole[-1])
    end = "though its end is there" if there else "and its last block is another one"
    if len(here) < len(whole):
        return f"{counted(len(here), 'block')} of code where there were {len(whole)}, {end}"
    if had - left < FEW_LOST:
        return None
    return f"{left} characters of code where there were {had}, {end}"


def _against(blocks: list[bytes], whole: list[bytes]) -> str | None:
    if not blocks:
        return "no code is left in it"
    size = len(blocks)
    if size < len(whole) and blocks[:-1] == whole[: size - 1] and whole[size - 1].startswith(blocks[-1]):
        return f"it stops after {size} of {len(whole)} blocks"
    if _ends(whole[-1]) and not _ends(blocks[-1]):
        return "the end of the program is missing"
    return None


def _ends(block: bytes) -> bool:
    return _END.search(block) is not None or block.startswith(b"%")
