"""Program text as a machine wants it: line ends, characters, line length, stamp. Pure.

The one rule: the code stays. After all of it the file's fingerprint must be the one in the revision record; where it
is not, nothing is written and the line at fault is named. So comments may be put into plainer letters and the whole
text into capitals, but a comment the operator or the control acts on may not.

A ``verbatim`` text (another language, binary) is neither stamped nor touched.
"""

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass

from tracker.nc import scan
from tracker.records.shop import Machine
from tracker.stick.stamp import Stamp, insert, places, without_stamps

VERBATIM = "verbatim"
_ENDS = {"crlf": b"\r\n", "lf": b"\n"}
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A shaped text: ``data``, what a person should know, and why it may not be written (then empty data)."""

    data: bytes
    notes: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()


def shape(
    data: bytes,
    machine: Machine,
    stamp: Stamp,
    *,
    dialect: str,
    fingerprint: str,
    strict: bool = False,
) -> Text:
    """The text for ``machine`` with ``stamp``; problems where the code would change.

    Args:
        data: the revision's bytes.
        machine: line end, characters and longest line.
        stamp: what the stamp says.
        dialect: as in the revision record.
        fingerprint: as in the revision record.
        strict: whether that is the strict one.
    """
    if dialect == VERBATIM:
        return Text(data=data, notes=("not in word-address form: written as it is, without a stamp",))
    same = _Keeps(fingerprint, strict=strict)
    if not same(data):
        return Text(
            data=b"",
            problems=("its code is not that of the revision record: the text or the record is damaged",),
        )
    notes: list[str] = []
    bare = _unstamped(data, same, notes)
    mapped = in_characters(with_line_ends(bare, machine.line_end), machine.characters)
    if not same(mapped):
        return Text(data=b"", problems=(_culprit(bare, machine, same),))
    foreign = len(_FOREIGN.findall(bare)) if machine.characters != "any" else 0
    if foreign:
        notes.append(f"{foreign} {'place' if foreign == 1 else 'places'} in comments put into plain letters")
    stamped = _stamped(mapped, stamp, machine, same)
    if stamped is None:
        return Text(
            data=b"",
            problems=("no place for the stamp that leaves the code alone: an open comment in the head?",),
        )
    problems = too_long(mapped, machine.max_line) + _marks_too_long(stamp, machine.max_line)
    return Text(data=b"" if problems else stamped, notes=tuple(notes), problems=problems)


def with_line_ends(data: bytes, kind: str) -> bytes:
    """``data`` with every line end made ``crlf`` or ``lf``, the last line too; a stray CR inside a line stays."""
    end = _ENDS[kind]
    made = (_WITH_LF if b"\n" in data else _ONLY_CR).sub(lambda _: end, data)
    return made if made.endswith(end) or not made else made + end


def in_characters(data: bytes, kind: str) -> bytes:
    """``data`` in the characters a control has: ``any`` (as it is), ``ascii`` or ``ascii-upper``.

    Leader bytes at both ends go, other foreign bytes become plain letters or ``?``: harmless in a comment, and seen by
    the fingerprint anywhere else.
    """
    if kind == "any":
        return data
    plain = _FOREIGN.sub(lambda found: _plain(found[0]), _LEADERS.sub(b"", data))
    return plain.upper() if kind == "ascii-upper" else plain


def too_long(data: bytes, longest: int) -> tuple[str, ...]:
    """Lines of more than ``longest`` characters, said; at most five of them. 0: no limit."""
    if not longest:
        return ()
    lines = data.replace(b"\r", b"").split(b"\n")
    long = [(number, len(line)) for number, line in enumerate(lines, 1) if len(line) > longest]
    said = [
        f"line {number} is {length} characters long, the machine reads {longest}"
        for number, length in long[:5]
    ]
    if len(long) > len(said):
        said.append(f"and {len(long) - len(said)} more lines like that")
    return tuple(said)


def _marks_too_long(stamp: Stamp, longest: int) -> tuple[str, ...]:
    return tuple(
        f"the mark {line.decode('ascii')} is longer than the {longest} characters the machine reads"
        for line in stamp.lines(longest)
        if longest and len(line) > longest
    )


class _Keeps:
    """Whether a text still has the fingerprint it must have."""

    def __init__(self, fingerprint: str, *, strict: bool) -> None:
        self._fingerprint = fingerprint
        self._strict = strict

    def __call__(self, data: bytes) -> bool:
        return scan.identity(data, strict=self._strict).fingerprint == self._fingerprint


def _unstamped(data: bytes, same: Callable[[bytes], bool], notes: list[str]) -> bytes:
    bare = without_stamps(data)
    if bare == data:
        return data
    if not same(bare):
        notes.append("carries an older stamp that could not be taken out without touching code")
        return data
    notes.append("an older stamp in the text is replaced")
    return bare


def _stamped(data: bytes, stamp: Stamp, machine: Machine, same: Callable[[bytes], bool]) -> bytes | None:
    lines = stamp.lines(machine.max_line)
    for place in places(data):
        made = insert(data, place, lines, _ENDS[machine.line_end])
        if same(made):
            return made
    return None


def _culprit(data: bytes, machine: Machine, same: Callable[[bytes], bool]) -> str:
    """The first line whose code the machine's characters would change, found by halving."""
    text = with_line_ends(data, "lf")
    lines = text.splitlines(keepends=True) if b"\r" not in text else re.split(rb"(?<=\n)", text)
    good, bad = 0, len(lines)
    while bad - good > 1:
        middle = (good + bad) // 2
        if same(in_characters(b"".join(lines[:middle]), machine.characters) + b"".join(lines[middle:])):
            good = middle
        else:
            bad = middle
    shown = lines[good].decode("latin-1").strip() if lines else ""
    letters = "capital letters without accents" if machine.characters == "ascii-upper" else "plain letters"
    return f"line {good + 1}: {shown!r} counts as code here, and {machine.id} takes {letters} only; change it in the office"


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
