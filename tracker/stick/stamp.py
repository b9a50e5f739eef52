"""The lines an export writes into a program: which text this is, and that it is not proved.

``(ID 7F3A09C2 4471 OP10 R5 REL 2 MILL2)``: the 8 digits that are read back at the machine, job, operation, revision,
release, machine. A program several operations of the job share carries its own digits,
``(ID 1A2B3C4D 4471 SUB REL 2 MILL2)``; one that several jobs share names none of them, ``(ID 1A2B3C4D COMMON MILL2)``.
For a prove-out ``(UNPROVEN - FOR PROVE-OUT ONLY)`` stands before it, and no release; for an emergency ``(DEVIATION - NOT RELEASED)``.

A stamp is a comment and no evidence: an edit at the control carries it along, so it never holds a person's name or
the word proven. Where a text that came home carries an old one, an export takes that out of its copy again.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from tracker.services import ports_stick
from tracker.services.id_line import DIGITS

UNPROVEN = f"({ports_stick.UNRELEASED[ports_stick.FOR_PROVING]})".encode("ascii")
DEVIATION = f"({ports_stick.UNRELEASED[ports_stick.DEVIATION]})".encode("ascii")

# what controls do to comments on the way: blanks more or fewer, letters of one case, a line number in front, ";" for the
# brackets or behind them, CR alone or LF CR CR for line ends
_WORDS = rb"(?:[!-'*-~]+\s+(?:[!-'*-~]+\s+R\d+|SUB)(?:\s+REL\s+\d+)?|COMMON)\s+[!-'*-~]+"
_OURS = rb"ID\s*[0-9A-F]{8}(?:\s+" + _WORDS + rb")?"
_PROVE_OUT = rb"(?:UNPROVEN\s*-\s*FOR\s*PROVE-OUT\s*ONLY|DEVIATION\s*-\s*NOT\s*RELEASED)"
_EITHER = rb"(?:" + _OURS + rb"|" + _PROVE_OUT + rb")"
_OPEN_ENDED = _EITHER.replace(rb"\s", rb"[ \t]")
_STAMP = re.compile(
    rb"(?i)(?<![^\r\n])(?P<front>[ \t]*(?:N\d+)?[ \t]*)(?:\(\s*"
    + _EITHER
    + rb"\s*\)|;[ \t]*"
    + _OPEN_ENDED
    + rb")[ \t]*(?P<mark>;?)[ \t]*(?P<end>\r*\n|\r|\Z)"
)
_HINTS = tuple(
    re.compile(rb"(?i)" + opens + rb"\s*(?:ID\s*[0-9A-F]{8}|UNPROVEN|DEVIATION)") for opens in (rb"\(", rb";")
)
_LEADER = re.compile(rb"(?:\xef\xbb\xbf|[\x00\x11-\x14\x1a\x7f])+")
_LINE = re.compile(rb"([^\r\n]*)(\r*\n|\r|\Z)")
_PROGRAM_NUMBER = re.compile(rb"[ \t]*[Oo:][ \t]*\d")
_COMMENT_ONLY = re.compile(rb"[ \t]*(?:\([^()\r\n]*\)[ \t]*)*")
_HEAD_LINES = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """What a stamp says. ``operation`` None: shared, SUB; ``job`` None: common to several jobs."""

    mark: str
    machine: str
    job: str | None = None
    operation: str | None = None
    revision: int | None = None
    release: int | None = None
    unproven: bool = False
    deviation: bool = False

    def lines(self, max_line: int = 0) -> tuple[bytes, ...]:
        """The stamp's lines without line ends; the short form ``(ID 7F3A09C2)`` where ``max_line`` asks for it."""
        line = b"(" + " ".join(self._words()).upper().encode("ascii", "replace") + b")"
        if max_line and len(line) > max_line:
            line = f"(ID {self.mark})".upper().encode("ascii")
        if self.deviation:
            return (DEVIATION, line)
        return (UNPROVEN, line) if self.unproven else (line,)

    def _words(self) -> Iterator[str]:
        yield f"ID {self.mark}"
        if self.job is None:
            yield "COMMON"
        else:
            yield self.job
            yield f"{self.operation} R{self.revision}" if self.operation else "SUB"
            if self.release is not None:
                yield f"REL {self.release}"
        yield self.machine


def without_stamps(data: bytes) -> bytes:
    """``data`` without stamp lines of ours; a line number in front of one and a ``;`` behind it stay."""

    def taken_out(line: re.Match[bytes]) -> bytes:
        left = line["front"].rstrip() + line["mark"] if line["front"].strip() else line["mark"]
        return left + line["end"] if left else b""

    return _STAMP.sub(taken_out, data) if _hinted(data) else data


def _hinted(data: bytes) -> bool:
    """Whether there may be one: looking for the sign a comment opens with passes over most of a text at once."""
    found = (data.find(opens) for opens in (b"(", b";"))
    return any(at >= 0 and hint.search(data, at) is not None for at, hint in zip(found, _HINTS, strict=True))


def marks(data: bytes) -> tuple[str, ...]:
    """The 8 digits of every stamp of ours in ``data``, in capitals."""
    return tuple(
        found[1].decode("ascii").upper()
        for line in _STAMP.finditer(data)
        if (found := DIGITS.search(line[0]))
    )


def places(data: bytes) -> tuple[int, ...]:
    """Where a stamp may stand, best first: after the O line, after the leading ``%``, first.

    Offsets into ``data`` at the start of a line (or at its end, where the last line has no end). The O line is looked
    for before any other code.
    """
    start = _leader_end(data)
    after_percent: int | None = None
    after_number: int | None = None
    at = start
    for _ in range(_HEAD_LINES):
        line = _LINE.match(data, at)
        if line is None or line.end() == at:
            break
        at = line.end()
        text = line[1].strip()
        if after_percent is None and text.startswith(b"%"):
            after_percent = at
        elif _PROGRAM_NUMBER.match(text):
            after_number = at
            break
        elif text and not _COMMENT_ONLY.fullmatch(text):
            break
    return tuple(place for place in (after_number, after_percent, start) if place is not None)


def insert(data: bytes, place: int, lines: tuple[bytes, ...], line_end: bytes) -> bytes:
    """``data`` with ``lines`` on lines of their own from offset ``place`` on."""
    before = data[:place]
    if before.strip(b"\x00\x11\x12\x13\x14\x1a\x7f\xef\xbb\xbf") and not before.endswith((b"\n", b"\r")):
        before += line_end
    put_in = b"".join(line + line_end for line in lines)
    return b"".join((before, put_in, memoryview(data)[place:]))  # the long part is copied once


def _leader_end(data: bytes) -> int:
    leader = _LEADER.match(data)
    return leader.end() if leader else 0
