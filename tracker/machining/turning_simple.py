"""One pass of G90 (turning) and G94 (facing), and the pecks of G74 (along the axis) and G75 (grooves).

Common practice of turning controls, from memory.
"""

import math
from collections.abc import Iterator

from tracker.frozen import dataclass
from tracker.machining.turning_shape import SMALL, Leg, Point

MOST_PECKS = 10_000
"""More pecks than this are a slip in their depth, and are not followed."""


def turn(start: Point, end: Point, taper: float) -> Iterator[Leg]:
    """G90: rapid in, cut along the axis, cut out, rapid back. ``taper``: radius at the start less that at the end."""
    first = (start[0], end[1] + taper)
    out = (end[0], start[1])
    yield Leg(start=start, end=first, rapid=True)
    yield Leg(start=first, end=end)
    yield Leg(start=end, end=out)
    yield Leg(start=out, end=start, rapid=True)


def face(start: Point, end: Point, taper: float) -> Iterator[Leg]:
    """G94: rapid along the axis, cut across, cut out, rapid back. ``taper``: z at the start less that at the end."""
    first = (end[0] + taper, start[1])
    out = (start[0], end[1])
    yield Leg(start=start, end=first, rapid=True)
    yield Leg(start=first, end=end)
    yield Leg(start=end, end=out)
    yield Leg(start=out, end=start, rapid=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pecks:
    """What G74 or G75 is asked for: base units, unsigned steps and radii.

    Attributes:
        across: the pecks go along X (G75).
        end: (z, r) of the far corner.
        step: depth of a peck; 0: down in one go.
        shift: from one row of pecks to the next; 0: one row.
        back: how far the tool draws back after a peck.
        aside: how far it moves aside at the bottom of a row before it goes back.
    """

    across: bool
    end: Point
    step: float
    shift: float
    back: float
    aside: float = 0.0


def peck_count(asked: Pecks, start: Point) -> int:
    """How many pecks all rows together have."""
    deep, wide = _spans(asked, start)
    return _steps(deep, asked.step) * (_steps(wide, asked.shift) + (1 if abs(wide) > SMALL else 0))


def pecks(asked: Pecks, start: Point) -> Iterator[Leg]:
    """All legs of G74 or G75 from ``start`` and back there."""
    deep, wide = _spans(asked, start)
    rows = _steps(wide, asked.shift) + 1 if abs(wide) > SMALL else 1
    place = (0.0, 0.0)
    for row in range(rows):
        over = math.copysign(min(row * asked.shift, abs(wide)) if row < rows - 1 else abs(wide), wide)
        if row:
            yield _go(asked, start, place, (0.0, over), rapid=True)
        place = (0.0, over)
        for leg_end, rapid in _row(asked, deep):
            yield _go(asked, start, place, (leg_end, over), rapid=rapid)
            place = (leg_end, over)
        if asked.aside and row:
            off = (deep, over - math.copysign(asked.aside, wide))
            yield _go(asked, start, place, off, rapid=True)
            yield _go(asked, start, off, (0.0, off[1]), rapid=True)
            place = (0.0, off[1])
        else:
            yield _go(asked, start, place, (0.0, over), rapid=True)
            place = (0.0, over)
    if abs(place[1]) > SMALL:
        yield _go(asked, start, place, (0.0, 0.0), rapid=True)


def _row(asked: Pecks, deep: float) -> Iterator[tuple[float, bool]]:
    """Depths one row goes to, and whether at a rapid."""
    count = _steps(deep, asked.step)
    for number in range(1, count + 1):
        last = number == count
        at = deep if last else math.copysign(number * asked.step, deep)
        yield at, False
        if not last and asked.back:
            yield at - math.copysign(asked.back, deep), True


def _spans(asked: Pecks, start: Point) -> tuple[float, float]:
    """How deep the pecks go and how far the rows spread, signed."""
    dz, dr = asked.end[0] - start[0], asked.end[1] - start[1]
    return (dr, dz) if asked.across else (dz, dr)


def _steps(span: float, step: float) -> int:
    if abs(span) <= SMALL or step <= SMALL:
        return 1
    return min(math.ceil((abs(span) - SMALL) / step), MOST_PECKS + 1)


def _go(asked: Pecks, start: Point, here: Point, there: Point, *, rapid: bool) -> Leg:
    """A leg between two (depth, over) places."""

    def point(place: Point) -> Point:
        dz, dr = (place[1], place[0]) if asked.across else place
        return start[0] + dz, start[1] + dr

    return Leg(start=point(here), end=point(there), rapid=rapid)
