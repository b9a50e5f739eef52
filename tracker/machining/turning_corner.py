"""Chamfers and rounded corners between two straight pieces of a contour (``,C`` and ``,R``)."""

import math
from collections.abc import Sequence

from tracker.frozen import replace
from tracker.machining.turning_shape import SMALL, Leg, Point, length

Corner = tuple[str, float]
"""``"C"`` with how far the chamfer cuts each piece back, or ``"R"`` with a radius."""


def cornered(legs: Sequence[Leg], corners: Sequence[Corner | None]) -> tuple[Leg, ...] | str:
    """The pieces with their corners put in, or why one of them cannot be.

    ``corners[i]`` stands at the end of ``legs[i]``.
    """
    out: list[Leg] = []
    rest = list(legs)
    for at, corner in enumerate(corners):
        leg = rest[at]
        if corner is None or corner[1] == 0:
            out.append(leg)
            continue
        if at + 1 == len(rest) or leg.centre is not None or rest[at + 1].centre is not None:
            return "a corner that is not between two straight pieces of its contour"
        cut = _cut(leg, rest[at + 1], corner)
        if isinstance(cut, str):
            return cut
        first, middle, rest[at + 1] = cut
        out += [first] if middle is None else [first, middle]
    return tuple(out)


def _cut(leg: Leg, following: Leg, corner: Corner) -> tuple[Leg, Leg | None, Leg] | str:
    """The first piece cut back, the corner, the second piece cut back; no corner where the pieces run straight on."""
    kind, size = corner
    into, out = _way(leg), _way(following)
    if into is None or out is None or size < 0:
        return "a corner beside a piece without length"
    cross, dot = into[0] * out[1] - into[1] * out[0], into[0] * out[0] + into[1] * out[1]
    if abs(cross) < SMALL:
        return "a corner where its contour turns back" if dot < 0 else (leg, None, following)
    back = size if kind == "C" else size * math.tan(math.atan2(abs(cross), dot) / 2)
    if back > length(leg) + SMALL or back > length(following) + SMALL:
        return "a corner longer than its piece"
    tip = leg.end
    first: Point = (tip[0] - back * into[0], tip[1] - back * into[1])
    last: Point = (tip[0] + back * out[0], tip[1] + back * out[1])
    middle = replace(following, start=first, end=last, rapid=leg.rapid, feed=leg.feed, speed=leg.speed)
    if kind == "R":
        side = 1.0 if cross > 0 else -1.0
        centre = (first[0] - side * size * into[1], first[1] + side * size * into[0])
        middle = replace(middle, centre=centre, clockwise=cross < 0)
    return replace(leg, end=first), middle, replace(following, start=last)


def _way(leg: Leg) -> Point | None:
    """The direction of a straight piece, length 1."""
    far = length(leg)
    if far <= SMALL:
        return None
    return (leg.end[0] - leg.start[0]) / far, (leg.end[1] - leg.start[1]) / far
