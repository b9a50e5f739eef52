"""Pieces of a path in the plane of a lathe: straight ones and arcs, with their lengths and how they are shifted.

A point is (z, r): Z along the axis of the spindle, r half of the programmed X. Z counts to the right and r upwards, the
picture of a turret behind the axis; in it G2 turns clockwise and G3 counter-clockwise. A turret in front of the axis
mirrors picture and sense alike, so that the same words mean the same path (common practice, no source).
"""

import math

from tracker.frozen import dataclass, replace
from tracker.machining.arcs import TURN, angle_of, distance

Point = tuple[float, float]
"""z and r, in base units; r is a radius."""

SMALL = 1e-7
"""Lengths below this are taken as none: far below the least increment of any control."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One piece of a path.

    Attributes:
        start, end: where it begins and ends.
        rapid: it is a rapid move.
        centre: of an arc; None: it is straight.
        clockwise: sense of the arc in the picture (z to the right, r upwards).
        thread: its feed is a lead per revolution whatever feed mode is in force.
        feed, speed: F and S said with it or before it in its contour; None: none there.
    """

    start: Point
    end: Point
    rapid: bool = False
    centre: Point | None = None
    clockwise: bool = False
    thread: bool = False
    feed: float | None = None
    speed: float | None = None


def radius(leg: Leg) -> float:
    """Radius of an arc at its start; 0 for a straight leg."""
    if leg.centre is None:
        return 0.0
    return distance(leg.start, leg.centre)


def turned(leg: Leg) -> float:
    """Angle an arc turns through in radians, above 0, a whole turn where it ends at its start; 0 if straight."""
    if leg.centre is None:
        return 0.0
    return angle_of(leg.start, leg.end, leg.centre, clockwise=leg.clockwise)


def bearing(leg: Leg, point: Point) -> float:
    """Angle in radians under which ``point`` is seen from the centre of an arc, from +Z counter-clockwise."""
    z, r = leg.centre or (0.0, 0.0)
    return math.atan2(point[1] - r, point[0] - z)


def length(leg: Leg) -> float:
    """Length along the way."""
    if leg.centre is not None:
        return radius(leg) * turned(leg)
    return distance(leg.start, leg.end)


def shifted(leg: Leg, dz: float, dr: float) -> Leg:
    """The leg moved as it is."""

    def there(point: Point) -> Point:
        return point[0] + dz, point[1] + dr

    centre = None if leg.centre is None else there(leg.centre)
    return replace(leg, start=there(leg.start), end=there(leg.end), centre=centre)


def bulges(leg: Leg) -> tuple[Point, ...]:
    """Points of an arc inside it where z or r is greatest or least."""
    if leg.centre is None:
        return ()
    size, first, angle = radius(leg), bearing(leg, leg.start), turned(leg)
    found = []
    for quarter in range(4):
        at = quarter * math.pi / 2
        way = (first - at if leg.clockwise else at - first) % TURN
        if SMALL < way < angle - SMALL:
            found.append((leg.centre[0] + size * math.cos(at), leg.centre[1] + size * math.sin(at)))
    return tuple(found)
