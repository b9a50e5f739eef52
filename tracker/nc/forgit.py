"""The form git shows: canonical blocks with their comments, under one line that sums up what is hidden.

The first line names the numbering, how many comments there are, the line ends and what else was reformatted, and
closes with the first 8 digits of the SHA-256 of the bytes: no edit of the file, however small, ever shows as nothing. A
comment stands on a line of its own before the block it belongs to. This is to be read; it is not the canonical form.

git starts this once for every file it shows, so only what is needed is imported.
"""

from __future__ import annotations

import hashlib
from itertools import pairwise

from tracker.nc import scan

TYPE_CHECKING = False  # as in typing, which takes as long to import as a program to read
if TYPE_CHECKING:
    from tracker.nc.scan import AnyReading

VERBATIM = "verbatim"
PARTS = b"\x1e"
"""What parts the entries of a strand."""


def for_git(data: bytes) -> bytes:
    """The text for ``git diff``, ``git log -p`` and the like."""
    reading = scan.spun(data)
    parts = [part for part in (_numbering(reading), _comments(reading), _form(reading, data)) if part]
    if reading.dialect == VERBATIM:
        parts = ["kept to the letter", *parts]
    parts.append(f"bytes {hashlib.sha256(data).hexdigest()[:8]}")
    head = "; ".join(parts).encode("latin-1") + b"\n"
    lines = [head]
    wording = reading.wording.split(b"\n")
    for comment, block in zip(wording, [*_blocks(reading), b""], strict=False):
        if comment:
            lines.append(comment.replace(PARTS, b"\n") + b"\n")
        if block:
            lines.append(block)
    return b"".join(lines)


def _blocks(reading: AnyReading) -> list[bytes]:
    return [line + b"\n" for line in reading.code.split(b"\n")[:-1]]


def _numbering(reading: AnyReading) -> str:
    """``numbering N10-N280 step 10``."""
    written = [
        number
        for line in reading.numbering.split(b"\n")
        for number in line.split(b" ")
        if number[:1] in b"Nn" and number
    ]
    if not written:
        return ""
    names = [number.decode("latin-1").upper() for number in written]
    whole = [int(name[1:]) for name in names if name[1:].isdigit() and len(name) < 12]
    steps = {after - before for before, after in pairwise(whole)}
    if len(names) == 1:
        return f"numbering {names[0]}"
    step = f"step {steps.pop()}" if len(whole) == len(names) and len(steps) == 1 else "uneven"
    return f"numbering {names[0]}-{names[-1]} {step}"


def _comments(reading: AnyReading) -> str:
    count = sum(1 + line.count(PARTS) for line in reading.wording.split(b"\n") if line)
    return f"{count} comment{'s' if count > 1 else ''}" if count else ""


def _form(reading: AnyReading, data: bytes) -> str:
    """Line ends other than LF, and whether anything else was reformatted."""
    crlf, lf, cr = data.count(b"\r\n"), data.count(b"\n"), data.count(b"\r")
    if not cr:
        ends = ""
    elif crlf == lf == cr:
        ends = "CRLF"
    else:
        ends = "CR" if not lf else "mixed line ends"
    entries = (entry for line in reading.format.split(b"\n") for entry in line.split(PARTS))
    reformatted = any(entry[:1] in (b"t", b"b", b"p", b"o") for entry in entries)
    return "; ".join(filter(None, (ends, "blanks, zeros or case" if reformatted else "")))
