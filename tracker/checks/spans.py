"""The programs one file holds: from one O line to the next, with the lines that end them.

Only what rules about the frame of a program ask for; lines are counted from 1.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from tracker.nc.codes import code_of
from tracker.nc.source import LEADER, MARK
from tracker.nc.word import Word, words

_OUTSIDE = LEADER + b"\r\n \t"
_ENDING = re.compile(r"M[ \t]*\+?[ \t]*0*(?:2|30|99)(?![0-9])", re.IGNORECASE)
_COMMENT = re.compile(r"\([^)]*\)|;.*")
_LABEL = re.compile(r"[ \t]*(?:/[0-9]?)?[ \t]*N[ \t]*0*([0-9]{1,9})(?![0-9.])", re.IGNORECASE)
_OPENING = re.compile(r"[ \t]*(?:%[ \t]*)?[O:][ \t]*[0-9]", re.IGNORECASE)


@dataclass(slots=True)
class OPart:
    """One program of a file.

    Attributes:
        number: its O number; None before the first O line.
        first, last: lines it spans.
        ends: lines that hold M2, M30 or M99, and the code, in order.
        code: lines that hold code other than ``%`` and the O line.
    """

    number: int | None
    first: int
    last: int = 0
    ends: list[tuple[int, str]] = field(default_factory=list)
    code: list[int] = field(default_factory=list)


def lines_of(data: bytes) -> list[str]:
    """Physical lines as text, without their ends: parted by LF, or by CR in a file without LF.

    What a tape, a transfer or an editor puts before the first printable line and after the last one is left out.
    """
    body = data.removeprefix(MARK)
    size = len(body) - len(body.lstrip(_OUTSIDE))
    text = (body[:size].translate(None, LEADER) + body[size:].rstrip(_OUTSIDE)).decode("latin-1")
    if "\n" not in text:
        return text.split("\r")
    lines = text.replace("\r\n", "\n").split("\n")
    return [line.strip("\r") for line in lines] if "\r" in text else lines


def bare(line: str) -> str:
    """A line without its comments and the blanks around."""
    return _COMMENT.sub("", line).strip(" \t\x00") if "(" in line or ";" in line else line.strip(" \t\x00")


def in_code(data: bytes, pattern: re.Pattern[bytes]) -> bool:
    """Whether a pattern of one line is met outside comments."""
    for match in pattern.finditer(data):
        start = max(data.rfind(b"\n", 0, match.start()), data.rfind(b"\r", 0, match.start())) + 1
        ahead = data[start : match.start()]
        if b";" not in ahead and ahead.count(b"(") <= ahead.count(b")"):
            return True
    return False


def parts_of(data: bytes) -> tuple[OPart, ...]:
    """The programs of a file; one without an O line is one program."""
    parts = [OPart(None, 1)]
    for at, line in enumerate(lines_of(data), 1):
        code = bare(line)
        parts[-1].last = at
        if not code or code == "%":
            continue
        if code[0] in "Oo:%" and _OPENING.match(code):
            number = _number(code)
            if number is not None:
                parts[-1].last = at - 1
                if not parts[-1].code and parts[-1].number is None:
                    parts.pop()
                parts.append(OPart(number, at, at))
                continue
        parts[-1].code.append(at)
        if ("M" in code or "m" in code) and _ENDING.search(code):
            parts[-1].ends += [(at, end) for end in _ends(words(line))]
    return tuple(parts)


def labels_of(lines: list[str], part: OPart) -> dict[int, list[int]]:
    """The whole line numbers of a program, each with the lines it stands on; block skips may stand before them."""
    met: dict[int, list[int]] = {}
    for at in part.code:
        label = _LABEL.match(_COMMENT.sub("", lines[at - 1]))
        if label:
            met.setdefault(int(label[1]), []).append(at)
    return met


def _number(code: str) -> int | None:
    """The number of an O line; None for an O line with a keyword or a computed number."""
    held = [word for word in words(code.lstrip("% \t")) if word.letter != "N"]
    if len(held) == 1 and held[0].letter in ("O", ":") and held[0].number.isdigit():
        return int(held[0].number)
    return None


def _ends(block: tuple[Word, ...]) -> Iterator[str]:
    for word in block:
        if word.letter == "M" and (code := code_of(word.number)) in ("2", "30", "99"):
            yield code
