"""Leaving points of a strand out, as long as none of those left out lies further than a tolerance from what is left.

D. H. Douglas, T. K. Peucker, "Algorithms for the reduction of the number of points required to represent a digitized
line", Cartographica 10 (1973) 112-122; U. Ramer, Computer Graphics and Image Processing 1 (1972) 244-256. Besides the
two ends a point at the lowest and the highest X, Y and Z is always kept, so the reach is the same to the last digit.
"""

import itertools
from collections.abc import Sequence

Point = tuple[float, float, float]


def thinned(points: Sequence[Point], tolerance: float) -> tuple[Point, ...]:
    """The points that are needed; those that are kept are kept as they are."""
    last = len(points) - 1
    if last < 2:
        return tuple(points)
    fixed = sorted({0, last, *extremes(points)})
    keep = set(fixed)
    for first, end in itertools.pairwise(fixed):
        _between(points, first, end, tolerance * tolerance, keep)
    return tuple(points[at] for at in sorted(keep))


def extremes(points: Sequence[Point]) -> tuple[int, ...]:
    """The first place of the lowest and of the highest X, Y and Z."""
    found: list[int] = []
    for axis in range(3):
        along = [point[axis] for point in points]
        found += (along.index(min(along)), along.index(max(along)))
    return tuple(found)


def _between(points: Sequence[Point], first: int, end: int, square: float, keep: set[int]) -> None:
    """Add to ``keep`` what is needed between two points that are kept; ``square`` of the tolerance."""
    todo = [(first, end)]
    while todo:
        low, high = todo.pop()
        if high - low < 2:
            continue
        at, far = _furthest(points, low, high)
        if far > square:
            keep.add(at)
            todo += ((low, at), (at, high))


def _furthest(points: Sequence[Point], low: int, high: int) -> tuple[int, float]:
    """The point furthest from the straight way between two others, and the square of how far."""
    ax, ay, az = points[low]
    dx, dy, dz = points[high][0] - ax, points[high][1] - ay, points[high][2] - az
    length = dx * dx + dy * dy + dz * dz
    best, far = low, -1.0
    for at in range(low + 1, high):
        x, y, z = points[at]
        x, y, z = x - ax, y - ay, z - az
        if length:
            along = (x * dx + y * dy + z * dz) / length
            along = 0.0 if along < 0.0 else min(along, 1.0)
            x, y, z = x - along * dx, y - along * dy, z - along * dz
        off = x * x + y * y + z * z
        if off > far:
            best, far = at, off
    return best, far
