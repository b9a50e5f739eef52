"""Which items of two rows of numbers correspond, in bounded time.

A shortest edit where it is cheap enough; where it is not (half a file moved, two unrelated files), items that stand
once on either side serve as anchors, and without any the split is the furthest point reached. Whatever the way, what
is said to correspond is equal and in order on both sides: the answer may be longer than needed, never false.
"""

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Sequence

from tracker.nc.difference_myers import Trails, halve, row

EXACT_LIMIT = 2048
"""Edits from either end up to which a shortest edit is looked for (its time goes with the square)."""

STEPS = 8_000_000
"""Steps of the inner loop in all, after which only cheap splits are made: some seconds in plain Python."""

COARSE_LIMIT = 32
"""Edits from either end before a cheap split."""

Box = tuple[int, int, int, int]


def unmatched(old: Sequence[int], new: Sequence[int]) -> tuple[bytearray, bytearray]:
    """A mark for every item of ``old`` and of ``new``: 1 where it has no counterpart in the other row.

    The items without a mark are equal, one to one, in order.
    """
    in_old, in_new = set(old), set(new)
    kept_old = [at for at, item in enumerate(old) if item in in_new]
    kept_new = [at for at, item in enumerate(new) if item in in_old]
    marks = _Search([old[at] for at in kept_old], [new[at] for at in kept_new]).run()
    gone, come = bytearray(b"\1") * len(old), bytearray(b"\1") * len(new)
    for at, mark in zip(kept_old, marks[0], strict=True):
        gone[at] = mark
    for at, mark in zip(kept_new, marks[1], strict=True):
        come[at] = mark
    return gone, come


def runs(gone: bytearray, come: bytearray) -> Iterator[Box]:
    """Stretches ``(old_from, old_to, new_from, new_to)`` that do not correspond, ascending."""
    x = y = 0
    while True:
        next_gone, next_come = gone.find(1, x), come.find(1, y)
        if next_gone < 0 and next_come < 0:
            return
        # As many equal items stand before the next mark on either side: the nearer one comes first.
        steps = min(at - start for at, start in ((next_gone, x), (next_come, y)) if at >= 0)
        x, y = x + steps, y + steps
        x_to, y_to = _end_of_marks(gone, x), _end_of_marks(come, y)
        yield x, x_to, y, y_to
        x, y = x_to, y_to


def settled(boxes: Sequence[Box], old: Sequence[int], new: Sequence[int]) -> list[Box]:
    """The same stretches with those that only add or only take away as far down as they go.

    Where a run could be said to lie at several places, it so begins with what is its own: a tool change put in reads
    as that, not as the end of the tool before it. Stretches that come to touch become one.
    """
    done: list[Box] = []
    floor = (len(old), len(new))
    for x0, x1, y0, y1 in reversed(boxes):
        while x0 == x1 and y0 < y1 < floor[1] and new[y0] == new[y1]:
            x0, x1, y0, y1 = x0 + 1, x1 + 1, y0 + 1, y1 + 1
        while y0 == y1 and x0 < x1 < floor[0] and old[x0] == old[x1]:
            x0, x1, y0, y1 = x0 + 1, x1 + 1, y0 + 1, y1 + 1
        if done and (x1, y1) == floor:
            last = done.pop()
            x1, y1 = last[1], last[3]
        done.append((x0, x1, y0, y1))
        floor = (x0, y0)
    return done[::-1]


def _end_of_marks(marks: bytearray, start: int) -> int:
    """The first place at or after ``start`` without a mark."""
    end = marks.find(0, start)
    return len(marks) if end < 0 else end


class _Search:
    """One search: the two rows, the marks made so far, the steps spent."""

    def __init__(self, old: list[int], new: list[int]) -> None:
        self.old, self.new = row(old), row(new)
        self.gone, self.come = bytearray(len(old)), bytearray(len(new))
        self.trails = Trails(len(old), len(new))
        self.steps = 0

    def run(self) -> tuple[bytearray, bytearray]:
        """Work off boxes until none is left; a box is ``old[x0:x1]`` against ``new[y0:y1]``."""
        boxes: list[Box] = [(0, len(self.old), 0, len(self.new))]
        while boxes:
            x0, x1, y0, y1 = self._without_ends(boxes.pop())
            if x0 == x1 or y0 == y1:
                self.gone[x0:x1] = b"\1" * (x1 - x0)
                self.come[y0:y1] = b"\1" * (y1 - y0)
            else:
                boxes.extend(self._parts((x0, x1, y0, y1)))
        return self.gone, self.come

    def _without_ends(self, box: Box) -> Box:
        """The box without what is equal at its two ends."""
        x0, x1, y0, y1 = box
        old, new = self.old, self.new
        while x0 < x1 and y0 < y1 and old[x0] == new[y0]:
            x0 += 1
            y0 += 1
        while x0 < x1 and y0 < y1 and old[x1 - 1] == new[y1 - 1]:
            x1 -= 1
            y1 -= 1
        return x0, x1, y0, y1

    def _parts(self, box: Box) -> list[Box]:
        """The box cut into smaller ones, none of them empty on both sides."""
        x0, x1, y0, y1 = box
        if self.steps < STEPS:
            x, y, shortest = self._halve(box, EXACT_LIMIT)
            if not shortest:
                anchors = self._anchors(box)
                if anchors:
                    return self._between(box, anchors)
        else:
            x, y, shortest = self._halve(box, COARSE_LIMIT)
        return [(x0, x, y0, y), (x, x1, y, y1)]

    def _halve(self, box: Box, limit: int) -> tuple[int, int, bool]:
        x0, x1, y0, y1 = box
        x, y, shortest = halve(self.old, self.new, box, self.trails, limit)
        spent = min(limit, x1 - x0 + y1 - y0)
        self.steps += spent * spent
        return x, y, shortest

    def _anchors(self, box: Box) -> list[tuple[int, int]]:
        """The longest ascending row of pairs of items that stand once on either side of the box."""
        x0, x1, y0, y1 = box
        old_part, new_part = self.old[x0:x1], self.new[y0:y1]
        once_old = {item for item, count in Counter(old_part).items() if count == 1}
        once_new = {item for item, count in Counter(new_part).items() if count == 1}
        place = {item: y0 + at for at, item in enumerate(new_part) if item in once_new and item in once_old}
        pairs = [(x0 + at, place[item]) for at, item in enumerate(old_part) if item in place]
        return _longest_ascending(pairs)

    def _between(self, box: Box, anchors: list[tuple[int, int]]) -> list[Box]:
        """The boxes between anchors; the anchors themselves correspond."""
        x, x1, y, y1 = box
        parts: list[Box] = []
        for anchor_x, anchor_y in [*anchors, (x1, y1)]:
            if x < anchor_x or y < anchor_y:
                parts.append((x, anchor_x, y, anchor_y))
            x, y = anchor_x + 1, anchor_y + 1
        return parts


def _longest_ascending(pairs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Of pairs ascending in the first number the longest row that ascends in the second too (patience sorting)."""
    tops: list[int] = []
    top_pair: list[int] = []
    before: list[int] = []
    for at, (_, second) in enumerate(pairs):
        pile = bisect_left(tops, second)
        before.append(top_pair[pile - 1] if pile else -1)
        if pile == len(tops):
            tops.append(second)
            top_pair.append(at)
        else:
            tops[pile], top_pair[pile] = second, at
    row: list[tuple[int, int]] = []
    at = top_pair[-1] if top_pair else -1
    while at >= 0:
        row.append(pairs[at])
        at = before[at]
    return row[::-1]
