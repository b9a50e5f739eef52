"""The form of a text on a stick: line ends, ``%`` lines, characters, longest line. Pure, and blind to code.

Whether the code is still the one it was, `text` asks the fingerprint of what comes out.
"""

import re
import unicodedata
from collections.abc import Sequence

from tracker.nc import scan

ENDS = {"crlf": b"\r\n", "lf": b"\n"}
"""Line ends by the word of shop.toml."""
TAKES = {"ascii": "plain letters", "ascii-upper": "capital letters without accents"}
"""What a machine reads, by the word of shop.toml."""
_WITH_LF = re.compile(rb"\r*\n(?:\r+(?![\r\n]))?")
_ONLY_CR = re.compile(rb"\r")
_FOREIGN = re.compile(rb"[^\x20-\x7e\t\r\n]+")
_LEADER = rb"(?:\xef\xbb\xbf|[\x00\x11-\x14\x1a\x7f])+"
_LEADERS = re.compile(rb"\A" + _LEADER + rb"|" + _LEADER + rb"\Z")
_PLAIN = str.maketrans(
    {
        "ß": "SS",
        "Æ": "AE",
        "æ": "ae",
        "Ø": "O",
        "ø": "o",
        "Œ": "OE",
        "œ": "oe",
        "Ł": "L",
        "ł": "l",
        "\u00d7": "x",
        "°": " DEG",
        "µ": "u",
        "μ": "u",
        "\u2013": "-",
        "\u2014": "-",
        "\u2018": "'",
        "\u2019": "'",
        "\u00a0": " ",
    }
)
_TWO_DOTS = "\u0308"
_KEPT = re.compile(r"[A-Za-z0-9 .,+\-/:'*=]")
_FIRST_PERCENT = re.compile(rb"(?:" + _LEADER + rb")?\s*%")


def with_line_ends(data: bytes, kind: str) -> bytes:
    """``data`` with every line end made ``crlf`` or ``lf``, the last line too; a stray CR inside a line stays."""
    end = ENDS[kind]
    ends = data.count(b"\r") if b"\r" in data else 0
    if not ends or ends == data.count(b"\r\n"):  # every CR has its LF: no need to look at line after line
        made = data.replace(b"\r\n", b"\n") if ends else data
        made = scan.with_crlf(made) if end != b"\n" else made
        return made if made.endswith(end) or not made else made + end
    made = (_WITH_LF if b"\n" in data else _ONLY_CR).sub(lambda _: end, data)
    return made if made.endswith(end) or not made else made + end


def between_percents(data: bytes, end: bytes) -> bytes:
    """``data`` with a ``%`` line first and last, each put there only where none stands."""
    first = _FIRST_PERCENT.match(data)
    bare = data.rstrip(b" \t\r\n\x00\x11\x12\x13\x14\x1a\x7f")
    before = bare[:-1].rstrip(b" \t")
    last = bare.endswith(b"%") and (not before or before.endswith((b"\r", b"\n")))
    if first and last and len(bare) <= first.end():
        last = False  # one line cannot be both
    made = data if first else b"%" + end + data
    return made if last else made + b"%" + end


def in_characters(data: bytes, kind: str) -> bytes:
    """``data`` in the characters a control has: ``any`` (as it is), ``ascii`` or ``ascii-upper``.

    Leader bytes at both ends go, other foreign bytes become plain letters or ``?``: harmless in a comment, and seen by
    the fingerprint anywhere else.
    """
    if kind == "any":
        return data
    if scan.is_plain(data):
        return data.upper() if kind == "ascii-upper" else data
    plain = _FOREIGN.sub(lambda found: _plain(found[0]), without_leaders(data))
    return plain.upper() if kind == "ascii-upper" else plain


def without_leaders(data: bytes) -> bytes:
    """``data`` without what a tape or a transfer puts at both ends of it."""
    return _LEADERS.sub(b"", data)


def foreign_places(data: bytes) -> int:
    """How many runs of other bytes there are."""
    return 0 if scan.is_plain(data) else len(_FOREIGN.findall(data))


def too_long(data: bytes, longest: int) -> tuple[str, ...]:
    """Lines of more than ``longest`` characters, said; at most five of them. 0: no limit."""
    if not longest or _all_short(data, longest):
        return ()
    lines = data.replace(b"\r", b"").split(b"\n")
    long = [(number, len(line)) for number, line in enumerate(lines, 1) if len(line) > longest]
    return named_few(
        [f"line {number} is {length} characters long, the machine reads {longest}" for number, length in long]
    )


def named_few(said: Sequence[str]) -> tuple[str, ...]:
    """Of many lines that are said the first five, and how many more there are."""
    more = len(said) - 5
    return (*said[:5], f"and {more} more lines like that") if more > 0 else tuple(said)


def _all_short(data: bytes, longest: int) -> bool:
    """Whether surely no line is too long; from line end to line end, as far ahead as one may lie, most are passed over."""
    at = 0
    while len(data) - at > longest:
        end = data.rfind(b"\n", at, at + longest + 1)
        if end < 0:
            return False
        at = end + 1
    return True


def _plain(found: bytes) -> bytes:
    try:
        text = found.decode("utf-8")
    except UnicodeDecodeError:
        text = found.decode("latin-1")
    made: list[str] = []
    for letter in unicodedata.normalize("NFD", text.translate(_PLAIN)):
        if letter == _TWO_DOTS and made:
            made.append("E" if made[-1].isupper() else "e")
        elif unicodedata.combining(letter):
            continue
        else:
            made.append(letter if _KEPT.match(letter) else "?")
    return "".join(made).encode("ascii")
