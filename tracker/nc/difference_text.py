"""Whether numbering, comments or writing differ where the code is the same.

Each of the three is kept beside the code as a strand: one line per block, and a last one for what follows the last
block. So an edit of the code does not make everything after it look renumbered or reformatted.
"""

from collections.abc import Sequence

from tracker.nc import kinds as k
from tracker.nc.canonical import Reading
from tracker.nc.compare_change import Stretch
from tracker.nc.compare_find import start_of
from tracker.nc.difference import SLICE, equal_bytes

Span = tuple[int, int | None]

FEW = 12
"""Stretches up to which lines are looked up in the strand; past that it is cut into lines once."""


class Strand:
    """The lines of one strand, by block."""

    __slots__ = ("_lines", "cut", "whole")

    def __init__(self, strand: bytes, *, few: bool) -> None:
        self.whole = strand
        self.cut = not few
        self._lines = None if few else strand.split(b"\n")

    def span(self, first: int, end: int | None) -> bytes:
        """The lines of blocks ``first`` to ``end`` (to the very end if None), each with its line feed."""
        if self._lines is None:
            start, stop = self.place(first, end)
            return self.whole[start:stop]
        return b"\n".join(self._lines[first:end])

    def place(self, first: int, end: int | None) -> tuple[int, int]:
        """Where the lines of blocks start and end in the strand."""
        stop = len(self.whole) if end is None else start_of(self.whole, end)
        return start_of(self.whole, first), stop


def same(one: Strand, own: Span, other: Strand, theirs: Span) -> bool:
    """Whether two spans hold the same; long ones are not copied for it."""
    if one.cut or other.cut:
        return one.span(*own) == other.span(*theirs)
    start, stop = one.place(*own)
    at, end = other.place(*theirs)
    return end - at == stop - start and all(
        one.whole[start + step : min(start + step + SLICE, stop)]
        == other.whole[at + step : min(at + step + SLICE, end)]
        for step in range(0, stop - start, SLICE)
    )


def text_kinds(
    old: Reading, new: Reading, stretches: Sequence[Stretch], pairs: Sequence[tuple[int, int]]
) -> frozenset[str]:
    """Which of ``numbering``, ``wording`` and ``format`` are true.

    ``pairs`` are blocks that became another, for which numbers and comments count too; how code is written is
    compared only where it is the same code.
    """
    kinds: set[str] = set()
    if _differs(old.numbering, new.numbering, stretches, pairs):
        kinds.add(k.NUMBERING)
    if _differs(old.wording, new.wording, stretches, pairs, joined=True):
        kinds.add(k.WORDING)
    if _differs(old.format, new.format, stretches, ()):
        kinds.add(k.FORMAT)
    return frozenset(kinds)


def _differs(
    old: bytes,
    new: bytes,
    stretches: Sequence[Stretch],
    pairs: Sequence[tuple[int, int]],
    *,
    joined: bool = False,
) -> bool:
    """Whether a strand differs between blocks that correspond.

    ``joined``: what stands before the block after a stretch may have gone with the stretch; together they must say
    the same.
    """
    if old == new:
        return False
    if not stretches or old.count(b"\n", 0, equal_bytes(old, new)) < stretches[0].old_from:
        return True  # before any code does: the texts correspond line by line down to there
    few = len(stretches) + len(pairs) <= FEW
    one, other = Strand(old, few=few), Strand(new, few=few)
    x = y = 0
    before: Stretch | None = None
    for stretch in (*stretches, None):
        x_end = stretch.old_from if stretch else None
        y_end = stretch.new_from if stretch else None
        if before and joined and _says_the_same(one, other, before):
            x, y = x + 1, y + 1
        if not same(one, (x, x_end), other, (y, y_end)):
            return True
        if stretch:
            x, y, before = stretch.old_to, stretch.new_to, stretch
    return any(one.span(x, x + 1) != other.span(y, y + 1) for x, y in pairs)


def _says_the_same(one: Strand, other: Strand, stretch: Stretch) -> bool:
    """Whether a stretch and the block after it carry the same text in all."""
    old = one.span(stretch.old_from, stretch.old_to + 1)
    new = other.span(stretch.new_from, stretch.new_to + 1)
    return old.replace(b"\n", b"") == new.replace(b"\n", b"")
