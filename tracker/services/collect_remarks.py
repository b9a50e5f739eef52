"""What is said of changed code beside its kinds: a lost ``%``, another O number, a decimal point that came or went.

Pure words about two texts and their changes; no verdict hangs on them.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from tracker.nc import kinds as k
from tracker.records.shop import Machine

if TYPE_CHECKING:
    from tracker.nc.compare import Change

_ENDS = re.compile(rb"[\r\n]+")
_END_MARK = re.compile(rb"[ \t]*;[ \t]*(?=[\r\n]|\Z)")
_BESIDE = b" \t\x00\x11\x12\x13\x14\x1a\x7f\xef\xbb\xbf"
"""What may stand beside a ``%`` on its line: blanks, and the leader a tape, a transfer or an editor puts there."""
_WORD = re.compile(r"([A-Z])([-+]?(?:\d+\.?\d*|\.\d+))")
_COMMENT = re.compile(r"\([^()]*\)?")
_FIGURES = {k.FEED: "F", k.SPEED: "S", k.SLOWER: "FS"}
_PLACES = frozenset("XYZUVWABCIJKRQ")
_AROUND = frozenset({k.NUMBERING, k.WORDING, k.FORMAT, k.PROGRAM_NUMBER})


def remarks(
    base: bytes, data: bytes, kinds: Sequence[str], changes: "Sequence[Change]", machine: Machine | None
) -> tuple[str, ...]:
    """Sentences about a changed text: ``base`` what it was, ``kinds`` and ``changes`` what differs."""
    found = (per_cent_lost(base, data), renumbered_program(kinds, changes), point_moved(changes, machine))
    return tuple(one for one in found if one is not None)


def per_cent_lost(base: bytes, data: bytes) -> str | None:
    """That only one of two ``%`` came home, which makes the text another one."""
    counts = [_per_cents(text) for text in (base, data)]
    return "One of its two % lines is lost." if counts == [2, 1] else None


def end_marks(base: bytes, data: bytes, *, strict: bool, lathe: bool | None) -> str | None:
    """That blocks came home with a ``;`` at their end, which is code, and what else differs from what the text was.

    A control may write it for end of block, and none says so: that it may be left out is for a person to know.
    """
    bare, count = _END_MARK.subn(b"", data)
    if 2 * count < _lines(data) or _END_MARK.search(base):
        return None
    from tracker.nc.compare import compare

    found = compare(base, bare, strict=strict, lathe=lathe)
    rest = "no difference is found in code" if found.same_code else f"this differs: {', '.join(found.kinds)}"
    return (
        f"Its lines end with ;, and that counts as code; without these {rest}. If this control writes ; for the "
        "end of a block, put a copy without them in its place and look again."
    )


def _lines(data: bytes) -> int:
    return sum(line.strip(_BESIDE) not in (b"", b"%") for line in _ENDS.split(data))


def _per_cents(text: bytes) -> int:
    return sum(line.strip(_BESIDE) == b"%" for line in _ENDS.split(text) if b"%" in line)


def renumbered_program(kinds: Sequence[str], changes: "Sequence[Change]") -> str | None:
    """That the O number is all that was changed of the code, which is a renamed copy."""
    if k.PROGRAM_NUMBER not in kinds or not _AROUND.issuperset(kinds):
        return None
    change = next((one for one in changes if one.kind == k.PROGRAM_NUMBER and one.old and one.new), None)
    if change is None or change.old is None or change.new is None:
        return None
    old, new = (_bare(text).split()[:1] or ["none"] for text in (change.old.text, change.new.text))
    return f"A renamed copy: the O number is all that was changed, {old[0]} to {new[0]}."


def point_moved(changes: "Sequence[Change]", machine: Machine | None) -> str | None:
    """That a decimal point came or went, the first word where one did, and how the machine reads a bare number."""
    for change in changes:
        if change.old is None or change.new is None:
            continue
        for old, new in zip(_words(change.old.text), _words(change.new.text), strict=False):
            if old[0] == new[0] and ("." in old[1]) != ("." in new[1]) and _digits(old) == _digits(new):
                return f"A decimal point came or went: {''.join(old)} to {''.join(new)}; {_read(machine)}."
    return None


def change_words(change: "Change") -> str:
    """``T4 feed: N520 G83 ... F15. -> N26 G83 ... F12.5 (F -16.7 %)``."""
    tool = f"T{change.tool} " if change.tool else ""
    if change.old is None and change.new is None:
        return f"{tool}{change.kind}"
    old = change.old.text if change.old else "(nothing)"
    new = change.new.text if change.new else "(nothing)"
    return f"{tool}{change.kind}: {old} -> {new}{percent(change) or moved(change)}"


def percent(change: "Change") -> str:
    """`` (F -16.7 %)`` of a changed feed or speed; empty where that is no one figure."""
    if change.old is None or change.new is None:
        return ""
    told: list[str] = []
    for letter in _FIGURES.get(change.kind, ""):
        old, new = (_figure(text, letter) for text in (change.old.text, change.new.text))
        if old and new and old != new:
            told.append(f"{letter} {(new / old - 1) * 100:+.1f} %")
    return f" ({', '.join(told)})" if told else ""


def moved(change: "Change") -> str:
    """`` (Z -0.05)`` of a changed motion: by how much each word went that both blocks have once; empty where none did."""
    if change.kind != k.MOTION or change.old is None or change.new is None:
        return ""
    before, after = (_places(text.text) for text in (change.old, change.new))
    told = [
        f"{letter} {after[letter] - before[letter]:+f}"
        for letter in after
        if letter in before and after[letter] != before[letter]
    ]
    return f" ({', '.join(told)})" if told else ""


def _places(text: str) -> dict[str, Decimal]:
    """The figures of a block's places by letter; only written with a point, since a bare one is the machine's to read."""
    words = [(letter, figure) for letter, figure in _words(text) if letter in _PLACES]
    count = Counter(letter for letter, _ in words)
    return {letter: Decimal(figure) for letter, figure in words if count[letter] == 1 and "." in figure}


def _read(machine: Machine | None) -> str:
    if machine is None or machine.decimal is None:
        return "how the machine reads a number without one is not stated (decimal in shop.toml)"
    if machine.decimal == "calculator":
        return f"{machine.id} reads a number without one as whole units"
    return f"{machine.id} reads a number without one in its smallest step, so the sizes are others"


def _words(text: str) -> Iterator[tuple[str, str]]:
    for found in _WORD.finditer(_bare(text)):
        if found[1] != "N":
            yield found[1], found[2]


def _bare(text: str) -> str:
    return _COMMENT.sub("", text.upper())


def _digits(word: tuple[str, str]) -> str:
    """The figure without its point: X3.5 and X35 have one, and so have X1. and X1."""
    return word[1].replace(".", "")


def _figure(text: str, letter: str) -> float | None:
    found = [float(figure) for name, figure in _words(text) if name == letter]
    return found[0] if len(found) == 1 else None
