"""Shortest edit between two rows of numbers (E. W. Myers, "An O(ND) Difference Algorithm and Its Variations", 1986).

The linear-space form: find a point on a shortest path from both ends at once, split there, go on with both halves.
Its time is bounded: past ``limit`` edits from either end it gives up, or splits at the furthest point reached, which
is a true alignment though no longer the shortest. `_forward` and `_backward` are the inner loops; where the scanner is
compiled, so are they (``_scanner_rows.pxi``), and these here say what those have to answer.
"""

from array import array
from collections.abc import Callable, MutableSequence, Sequence

from tracker.nc import scan

FAR = 1 << 60

Box = tuple[int, int, int, int]
Span = tuple[int, int]
Row = Sequence[int]
Step = Callable[[Row, Row, Box, "Trails", Span, Span], tuple[int, int] | None]


class Trails:
    """Furthest points reached on each diagonal, from the front and from the back; one pair serves a whole search."""

    __slots__ = ("back", "backward", "forward", "front")

    def __init__(self, old: int, new: int) -> None:
        # Diagonals run from -(new + 1) to old + 1; negative ones use the end of the list.
        size = old + new + 3
        self.front: MutableSequence[int]
        self.back: MutableSequence[int]
        self.forward: Step
        self.backward: Step
        if scan.engine() == "compiled":
            from tracker.nc import _scanner

            self.front, self.back = array("q", bytes(8 * size)), array("q", bytes(8 * size))
            self.forward, self.backward = _scanner.forward, _scanner.backward
        else:
            self.front, self.back = [0] * size, [0] * size
            self.forward, self.backward = _forward, _backward


def row(numbers: Sequence[int]) -> Sequence[int]:
    """A row in the form the inner loops read quickest."""
    return array("q", numbers) if scan.engine() == "compiled" else numbers


def halve(
    old: Sequence[int],
    new: Sequence[int],
    box: Box,
    trails: Trails,
    limit: int,
) -> tuple[int, int, bool]:
    """A point ``(x, y)`` to split ``old[x0:x1]`` and ``new[y0:y1]`` at, and whether it lies on a shortest path.

    ``box`` is ``x0, x1, y0, y1``; the two parts must be non-empty and differ at both ends. Both rows come from `row`.
    """
    x0, x1, y0, y1 = box
    low, high = x0 - y1, x1 - y0
    front = (x0 - y0, x0 - y0)
    back = (x1 - y1, x1 - y1)
    odd = bool((front[0] - back[0]) & 1)
    trails.front[front[0]], trails.back[back[0]] = x0, x1
    nobody = (1, 0)
    for _ in range(limit):
        front = _widen(trails.front, front, low, high, -1)
        met = trails.forward(old, new, box, trails, front, back if odd else nobody)
        if met is None:
            back = _widen(trails.back, back, low, high, FAR)
            met = trails.backward(old, new, box, trails, back, nobody if odd else front)
        if met is not None:
            return (*met, True)
    return _furthest(box, trails, front, back)


def _forward(
    old: Sequence[int], new: Sequence[int], box: Box, trails: Trails, span: Span, facing: Span
) -> tuple[int, int] | None:
    """One edit more from the front on every diagonal of ``span``; the point where it meets one of ``facing``."""
    front, back = trails.front, trails.back
    x1, y1 = box[1], box[3]
    facing_low, facing_high = facing
    for d in range(span[1], span[0] - 1, -2):
        below, above = front[d - 1], front[d + 1]
        x = above if below < above else below + 1
        y = x - d
        while x < x1 and y < y1 and old[x] == new[y]:
            x += 1
            y += 1
        front[d] = x
        if facing_low <= d <= facing_high and back[d] <= x:
            return x, y
    return None


def _backward(
    old: Sequence[int], new: Sequence[int], box: Box, trails: Trails, span: Span, facing: Span
) -> tuple[int, int] | None:
    """The same from the back."""
    front, back = trails.front, trails.back
    x0, y0 = box[0], box[2]
    facing_low, facing_high = facing
    for d in range(span[1], span[0] - 1, -2):
        below, above = back[d - 1], back[d + 1]
        x = below if below < above else above - 1
        y = x - d
        while x > x0 and y > y0 and old[x - 1] == new[y - 1]:
            x -= 1
            y -= 1
        back[d] = x
        if facing_low <= d <= facing_high and x <= front[d]:
            return x, y
    return None


def _widen(trail: MutableSequence[int], span: Span, low: int, high: int, outside: int) -> Span:
    """One more diagonal on either side, as far as the box has any; what lies beyond is never reached."""
    at_low, at_high = span
    if at_low > low:
        at_low -= 1
        trail[at_low - 1] = outside
    else:
        at_low += 1
    if at_high < high:
        at_high += 1
        trail[at_high + 1] = outside
    else:
        at_high -= 1
    return at_low, at_high


def _furthest(box: Box, trails: Trails, front: Span, back: Span) -> tuple[int, int, bool]:
    """The point that got furthest from its own corner, from the front or from the back."""
    x0, x1, y0, y1 = box
    best_front = (x0, y0)
    for d in range(front[1], front[0] - 1, -2):
        x = min(trails.front[d], x1)
        y = x - d
        if y > y1:
            x, y = y1 + d, y1
        if x >= x0 and y >= y0 and x + y > sum(best_front):
            best_front = (x, y)
    best_back = (x1, y1)
    for d in range(back[1], back[0] - 1, -2):
        x = max(trails.back[d], x0)
        y = x - d
        if y < y0:
            x, y = y0 + d, y0
        if x <= x1 and y <= y1 and x + y < sum(best_back):
            best_back = (x, y)
    if sum(best_front) - (x0 + y0) >= (x1 + y1) - sum(best_back):
        return (*best_front, False)
    return (*best_back, False)
