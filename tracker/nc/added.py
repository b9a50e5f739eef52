"""Whether lines of wording put into the head of a text leave its code what it was, told without reading all of it again.

Yes is sure; no says nothing, and whoever asked works out the fingerprint instead. The text must be known to be in
word-address form. Why the rest need not be read:

1. A text is read line by line, and all that is carried from line to line is whether a comment was left open, whether a
   G10 is open, what was met of labels and of lone ``%``. No line end but the last counts, nor the number of a line: a
   text that reads that is verbatim (`tracker.nc.dialect`).
2. Before the place stand blank lines, lone ``%``, a plain program number and comments that end on their line (`_HEAD`):
   nothing is open there.
3. The lines put in are comments of plain letters (`_WORDING`), and reading the head with them, and a block behind,
   gives what it gives without them: they leave nothing open and nothing behind.
4. Every other line is the same to the letter, and holds no byte and no CR that could stand for a line end, a leader or
   a trailer (`tracker.nc.ends.same_but_ends`).

So every line is met in the state it was met in before, and gives the code it gave.
"""

from tracker.nc import scan
from tracker.patterns import lazy_pattern

LONGEST_HEAD = 1 << 14
"""Bytes of a head that is looked at line by line."""
_COMMENT = rb"(?:\([A-Za-z0-9][A-Za-z0-9 .,:/+=_-]*\)[ \t]*)?"
_HEAD = lazy_pattern(rb"(?:[ \t]*(?:(?:%|O[0-9]{1,8})[ \t]*)?" + _COMMENT + rb"\r?\n)*")
_WORDING = lazy_pattern(rb"(?:\([A-Z]+(?:[ -]+[A-Z0-9.]+)*\)\r?\n)+")
_BLOCK = b"G01 X1.\n"


def keeps_code(old: bytes, new: bytes, at: int, size: int) -> bool:
    """Whether ``new`` surely has the code of ``old``.

    Args:
        old: a text that was read, and found to be in word-address form.
        new: the same with other line ends, and ``size`` bytes put in at ``at``.
        at: where the lines put in begin.
        size: their bytes, line ends included.
    """
    head, put_in = new[:at], new[at : at + size]
    return (
        at <= LONGEST_HEAD
        and _HEAD.fullmatch(head) is not None
        and _WORDING.fullmatch(put_in) is not None
        and scan.canonical(head + put_in + _BLOCK) == scan.canonical(head + _BLOCK)
        and scan.same_but_ends(old, new, at, size)
    )
