"""Simple lines: most lines of most programs, read many at a time.

A simple line holds, with blanks only between a letter and its number or between words, and in this order:

1. at most one N with a whole number;
2. any number of words: a letter other than N and O with a number as `tracker.nc.number` knows it, nothing else; a G
   only with a number of `SIMPLE_G`, an M only with one of `SIMPLE_M` (`tracker.nc.codes`); an L only with a short one
   (a long one may be a cycle that takes text from a comment) that opens with no zero (it may be a name).

So it holds no comment, skip, variable, jump, possible label, per cent sign, no line ends but its own and no byte
outside ``A-Z a-z 0-9 . + -``, blank and tab. Its canonical text is the spelling of its words in turn; nothing before
it can change that but an open G10. What is not simple, or looks odd in any way, goes to `tracker.nc.reader`, which
gives the same text for simple lines.
"""

from collections.abc import Iterator

from tracker.nc import number
from tracker.nc.codes import LONG_L, SIMPLE_G, SIMPLE_M
from tracker.patterns import lazy_pattern

_PLAIN_BYTES = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789.+- \t\n"
_ODD = b"!"
_ODD_BYTES = bytes(code if code in _PLAIN_BYTES else _ODD[0] for code in range(256))
"""Every byte that no simple line has becomes the same one, which is quickly found."""

MAY_BE_SIMPLE = lazy_pattern(
    rb"[ \t]*(?:[Nn][ \t]*[0-9]+[ \t]*)?(?:[A-MP-Za-mp-z][ \t]*[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)[ \t]*)*\n"
)
"""A line with its LF that is simple unless one of its codes is not."""

NUMBERS = lazy_pattern(rb"\nN([0-9]+)")
"""Line numbers of simple lines, once blanks are out, letters upper case and an LF stands in front."""
_NUMBERS_BEFORE_WORDS = lazy_pattern(rb"\nN[0-9]+ ?")

_KEPT_MOST = 250_000
_ALWAYS = {b"\n": b"\n", b"": b""}
_SHAPE = bytes(
    0x20 if c in b" \t" else 0x30 if c in b"0123456789.+-" else c if c == 0x0A else 0x41 for c in range(256)
)
_SPLIT_NUMBER = lazy_pattern(rb"0 +0")
_PARTED = [(bytes((code,)), b" " + bytes((code,))) for code in b"ABCDEFGHIJKLMNOPQRSTUVWXYZ"]
_PARTED.append((b"\n", b" \n "))
_WORD = lazy_pattern(r"([A-MP-Z])([+-]?)([0-9]+\.?[0-9]*|\.[0-9]+)")


_AS_IT_IS = lazy_pattern(
    rb"[XYZIJKABCUVWRQFE](?:-?0\.[0-9]*[1-9]|-?[1-9][0-9]*\.(?:[0-9]*[1-9])?|0\.)"
)  # words with a point that are canonical as written, the bulk of every surface


class NotSimpleError(Exception):
    """A word that no simple line holds."""


class _Spellings(dict[bytes, bytes]):
    """Words met so far, with their canonical spelling; forgets all when it has grown too large."""

    def __missing__(self, raw: bytes) -> bytes:
        result = self._spelled(raw[:-1]) + b"\n" if raw[-1:] == b"\n" else self._spelled(raw)
        if len(self) >= _KEPT_MOST:
            self.clear()
            self.update(_ALWAYS)
        self[raw] = result
        return result

    @staticmethod
    def _spelled(raw: bytes) -> bytes:
        if _AS_IT_IS.fullmatch(raw):
            return raw
        match = _WORD.fullmatch(raw.decode("ascii"))
        if match is None:
            raise NotSimpleError
        letter, sign, digits = match.groups()
        spelled = number.of_letter(letter, sign, digits)
        if (letter == "G" and spelled not in SIMPLE_G) or (letter == "M" and spelled not in SIMPLE_M):
            raise NotSimpleError
        if letter == "L" and (len(spelled) >= LONG_L or spelled != sign + digits):
            raise NotSimpleError
        return (letter + spelled).encode("ascii")


class _WithNumbers(_Spellings):
    """The same with line numbers, which are kept to the letter and not remembered."""

    def __missing__(self, raw: bytes) -> bytes:
        if raw[:1] == b"N" and raw[1:].isdigit():
            return raw
        return super().__missing__(raw)


_SPELLINGS = _Spellings(_ALWAYS)
_WITH_NUMBERS = _WithNumbers(_ALWAYS)


def compact(lines: bytes) -> bytes | None:
    """Lines (with LF) without blanks and in upper case, an LF in front; None if a blank splits a number."""
    shape = lines.translate(_SHAPE)
    if b"0 0" in shape or (b"  " in shape and _SPLIT_NUMBER.search(shape)):
        return None
    return b"\n" + lines.translate(None, b" \t").upper()


def odd_lines(text: bytes) -> Iterator[tuple[int, int]]:
    """Start and end of every line that holds a byte no simple line has."""
    if not text.translate(None, _PLAIN_BYTES):
        return
    marked, at = text.translate(_ODD_BYTES), 0
    while (odd := marked.find(_ODD, at)) >= 0:
        start = text.rfind(b"\n", at, odd) + 1 or at
        at = text.index(b"\n", odd) + 1
        yield start, at


def spelled(lines: bytes, *, numbers: bool = False) -> bytes | None:
    """Canonical text of simple lines, each LF kept; None if any of them is not simple.

    Args:
        lines: whole lines with LF, none of them one of `odd_lines`.
        numbers: every N stays; else every N goes.
    """
    if not numbers and lines.count(b" ") > lines.count(b"\n"):
        try:
            return _by_blanks(lines)
        except NotSimpleError:
            pass
    text = compact(lines)
    if text is None:
        return None
    if numbers:
        if text.count(b"N") != text.count(b"\nN"):
            return None
    elif b"N" in text:
        text = NUMBERS.sub(b"\n", text)
    for letter, parted in _PARTED:
        if letter in text:
            text = text.replace(letter, parted)
    spellings = _WITH_NUMBERS if numbers else _SPELLINGS
    try:
        return b"".join(map(spellings.__getitem__, text.split(b" ")))[1:]
    except NotSimpleError:
        return None


def _by_blanks(lines: bytes) -> bytes:
    """The same for lines whose words are parted by blanks, without looking at every byte.

    Raises:
        NotSimpleError: a piece between blanks is no word; `spelled` then looks closer.
    """
    text = b"\n" + lines.replace(b"\t", b" ").upper()
    if b"\nN" in text:
        text = _NUMBERS_BEFORE_WORDS.sub(b"\n", text)
    # An LF stays with the word before it: fewer pieces to look up.
    return b"".join(map(_SPELLINGS.__getitem__, text.replace(b"\n", b"\n ").split(b" ")))[1:]
