"""Blocks that may use the feed or speed in force in a way that is not seen.

A G of three digits may tap (codes beside G84 for taps across, or for a pitch; from memory), a variable may read the
feed or the speed (#4109, #4119 and their like, common practice, from memory), a block of nothing but an L may call,
and a line that does not read as words may be anything.
"""

import re

from tracker.nc.codes import code_of
from tracker.nc.compare_words import words_of
from tracker.nc.word import Word

_MAY_BE = re.compile(rb"G(?:[0-9]{3}|[#\[+-])|#[\[#]|4[135](?:09|19)|#<_(?:rpm|feed)>|[A-Z]{2}|[=\n/]L[0-9]")
_NO_TAPPING = frozenset({"103", "107", "150", "154", "187"})
"""G codes of three digits that tap nowhere we know of: look-ahead, offsets, smoothing, a pocket (from memory)."""
_READS = re.compile(r"#0*4[135](?:09|19)(?![0-9])|#[\[#]|#<_(?:rpm|feed)>")


def uses_unseen(code: bytes, start: int, end: int) -> bool:
    """Whether a block of canonical text between two places may be one; ``start`` is the start of a block."""
    at = start
    while (found := _MAY_BE.search(code, at, end)) is not None:
        opens = code.rfind(b"\n", 0, found.end() - 1) + 1
        closes = code.find(b"\n", found.end() - 1)
        closes = len(code) if closes < 0 else closes
        words = words_of(code[opens:closes].decode("latin-1"))
        if any(map(_may_use, words)) or _calls_by_l(words):
            return True
        at = closes
    return False


def _may_use(word: Word) -> bool:
    if word.letter in ("(", ";", '"', "%"):
        return False
    if word.letter == "G":
        code = code_of(word.number).partition(".")[0]
        return not code.isdigit() or (len(code) > 2 and code not in _NO_TAPPING)
    return not word.letter or bool(_READS.search(word.text))


def _calls_by_l(words: tuple[Word, ...]) -> bool:
    letters = {word.letter for word in words}
    return "L" in letters and letters <= {"L", "P", "N", "/"}
