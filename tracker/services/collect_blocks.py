"""How much code two texts share, for many texts held against the same few: each text of the record is read once.

Of a text of the record a sorted row of numbers is kept, a 64-bit hash for each block of its canonical form without line
numbers. What it shares with a file is then told from the file's own blocks, which takes the longer the longer the file
is and hardly hangs on the length of the text. Two blocks of one hash (one pair in 2^64) would make a share a block too
large; no verdict of "same code" ever rests on a share.
"""

from array import array
from bisect import bisect_left, bisect_right
from collections import Counter, OrderedDict
from collections.abc import Callable, Mapping

from tracker.nc import scan
from tracker.services.cut_off import bare_blocks

MOST_BLOCKS = 12 << 20
"""Blocks of all texts kept together, 8 bytes each; of more the texts that were asked for longest ago go."""
_FEW = 16
"""A file with fewer than one in so many of a text's blocks is looked up block by block."""


class BlocksKept:
    """Rows of hashes, by the SHA-256 of a text's bytes."""

    def __init__(self, most: int = MOST_BLOCKS) -> None:
        """Args: most: how many blocks are kept together."""
        self._most = most
        self._size = 0
        self._rows: OrderedDict[str, array[int]] = OrderedDict()

    def of(self, raw_sha256: str, text: Callable[[], bytes]) -> "array[int]":
        """The row of a text; ``text`` reads its bytes where they are needed, and what it raises is raised."""
        if raw_sha256 in self._rows:
            self._rows.move_to_end(raw_sha256)
            return self._rows[raw_sha256]
        row = array("q", sorted(map(hash, bare_blocks(scan.canonical(text())))))
        self._rows[raw_sha256] = row
        self._size += len(row)
        while self._size > self._most and len(self._rows) > 1:
            self._size -= len(self._rows.popitem(last=False)[1])
        return row


def shared(blocks: Mapping[bytes, int], row: "array[int]") -> int:
    """How many blocks (as often as they stand in both) a file has in common with a text."""
    if len(blocks) * _FEW > len(row):
        mine: Counter[int] = Counter()
        for block, times in blocks.items():
            mine[hash(block)] += times
        return (mine & Counter(row)).total()
    return sum(min(times, _times(row, hash(block))) for block, times in blocks.items())


def _times(row: "array[int]", wanted: int) -> int:
    at = bisect_left(row, wanted)
    return bisect_right(row, wanted, at) - at
