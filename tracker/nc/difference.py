"""Where two canonical texts differ, by block.

Works on whole bytes as long as it can: what is equal at the two ends is found by comparing slices, and only the
middle is cut into blocks. So a long program with one edit costs no more than reading it.
"""

from collections.abc import Sequence

from tracker.frozen import dataclass
from tracker.nc.compare_change import Stretch
from tracker.nc.difference_rows import runs, settled, unmatched

SLICE = 1 << 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """Stretches that differ, and the blocks of the middle they lie in.

    ``front``: how many blocks are equal at the start; ``old`` and ``new`` hold the blocks from there to where the
    rest is equal again (latin-1, without the line feed), ``old_at`` and ``new_at`` the byte the middle starts and
    ends at.
    """

    front: int
    old: Sequence[str]
    new: Sequence[str]
    old_at: tuple[int, int]
    new_at: tuple[int, int]
    stretches: tuple[Stretch, ...]

    def old_block(self, index: int) -> str:
        """Block ``index`` of the old text; it must lie in the middle."""
        return self.old[index - self.front]

    def new_block(self, index: int) -> str:
        """Block ``index`` of the new text; it must lie in the middle."""
        return self.new[index - self.front]


def difference(old: bytes, new: bytes) -> Difference:
    """Where two canonical texts (a line feed after every block) differ."""
    front = common_front(old, new)
    back = common_back(old, new, front)
    old_end, new_end = len(old) - back, len(new) - back
    blocks_before = old.count(b"\n", 0, front)
    old_middle, new_middle = _blocks(old[front:old_end]), _blocks(new[front:new_end])
    return Difference(
        front=blocks_before,
        old=old_middle,
        new=new_middle,
        old_at=(front, old_end),
        new_at=(front, new_end),
        stretches=_stretches(old_middle, new_middle, blocks_before),
    )


def common_front(old: bytes, new: bytes) -> int:
    """Bytes of whole blocks that are equal at the start."""
    at = equal_bytes(old, new)
    return old.rfind(b"\n", 0, at) + 1


def common_back(old: bytes, new: bytes, front: int) -> int:
    """Bytes of whole blocks that are equal at the end, none of them among the first ``front`` bytes."""
    count = _equal_bytes_back(old, new, min(len(old), len(new)) - front)
    old_at, new_at = len(old) - count, len(new) - count
    if _opens_block(old, old_at, front) and _opens_block(new, new_at, front):
        return count
    feed = old.find(b"\n", old_at)
    return 0 if feed < 0 else len(old) - feed - 1


def _opens_block(text: bytes, at: int, front: int) -> bool:
    return at == front or text[at - 1 : at] == b"\n"


def equal_bytes(old: bytes, new: bytes) -> int:
    """How many bytes are equal from the start."""
    most = min(len(old), len(new))
    at = 0
    while at < most and old[at : at + SLICE] == new[at : at + SLICE]:
        at += SLICE
    low, high = min(at, most), min(at + SLICE, most)
    while low < high:
        middle = (low + high + 1) // 2
        if old[low:middle] == new[low:middle]:
            low = middle
        else:
            high = middle - 1
    return low


def _equal_bytes_back(old: bytes, new: bytes, most: int) -> int:
    """How many bytes are equal from the end, at most ``most``."""
    at = 0
    n, m = len(old), len(new)
    while at < most and old[n - min(at + SLICE, most) : n - at] == new[m - min(at + SLICE, most) : m - at]:
        at = min(at + SLICE, most)
    low, high = at, min(at + SLICE, most)
    while low < high:
        middle = (low + high + 1) // 2
        if old[n - middle : n - low] == new[m - middle : m - low]:
            low = middle
        else:
            high = middle - 1
    return low


def _blocks(text: bytes) -> list[str]:
    """The blocks of a canonical text without their line feeds."""
    blocks = text.decode("latin-1").split("\n")
    if not blocks[-1]:
        blocks.pop()
    return blocks


def _stretches(old: list[str], new: list[str], front: int) -> tuple[Stretch, ...]:
    """Stretches of the middle that differ, counted from the first block of the text."""
    numbers: dict[str, int] = {}
    old_row = [numbers.setdefault(block, len(numbers)) for block in old]
    new_row = [numbers.setdefault(block, len(numbers)) for block in new]
    gone, come = unmatched(old_row, new_row)
    return tuple(
        Stretch(old_from=front + x0, old_to=front + x1, new_from=front + y0, new_to=front + y1)
        for x0, x1, y0, y1 in settled(list(runs(gone, come)), old_row, new_row)
    )
