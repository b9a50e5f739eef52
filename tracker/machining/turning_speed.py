"""Spindle speed and minutes on a lathe: constant cutting speed (G96) with its limit, feed per minute or revolution.

Speed: n = 1000 V / (pi D) with V in metres a minute and D in mm, n = 12 V / (pi D) with V in feet a minute and D in
inches (the definition of cutting speed). A limit, the program's or the machine's, holds n where D is small.

Minutes of a feed per revolution f under G96 are the sum of ds / (f n) along the way. Outside the limit 1 / n grows with
the radius, so a straight leg takes its length times its mean radius, an arc the same sum in closed form; inside the
limit it is length / (f limit). A leg is cut where it crosses the axis or the limit's radius.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

from tracker.frozen import dataclass
from tracker.machining.turning_shape import SMALL, Leg, Point, bearing, bulges, length, radius, turned

PER_MINUTE, PER_REVOLUTION = "per-minute", "per-revolution"
INCH = 25.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Spindle:
    """How the spindle turns.

    Attributes:
        rpm: revolutions a minute under G97; None: not known, or under G96.
        surface: under G96, base units a minute at the tool; None: G97, or not known.
        limit: highest revolutions a minute under G96, the least of those known; None: none is known.
    """

    rpm: float | None = None
    surface: float | None = None
    limit: float | None = None

    def at(self, r: float) -> float | None:
        """Revolutions a minute at radius ``r``; None if not known: at the centre without a limit."""
        if self.surface is None:
            return self.rpm
        if abs(r) <= SMALL:
            return self.limit
        asked = self.surface / (2 * math.pi * abs(r))
        return asked if self.limit is None else min(asked, self.limit)


def spindle(
    speed: float | None,
    *,
    surface: bool,
    units: str | None,
    base: str | None,
    limit: float | None = None,
    most: float | None = None,
) -> Spindle:
    """How the spindle turns at an S.

    Args:
        speed: S in force: revolutions a minute, under G96 feet or metres a minute by ``units``.
        surface: G96 is in force.
        units: in force where S was said, ``inch`` or ``mm``; None: not known, so a cutting speed is not either.
        base: units of all lengths; None: as ``units``.
        limit: stated by G50 S. It holds under G96 alone; what it does under G97 differs between controls.
        most: highest speed of the machine; it always holds.
    """
    if not surface:
        return Spindle(rpm=speed if speed is None or most is None else min(speed, most))
    known = [one for one in (limit, most) if one is not None and one > 0]
    way = None
    if speed is not None and units is not None:
        way = speed * (12.0 if units == "inch" else 1000.0)
        if base is not None and base != units:
            way = way * INCH if base == "mm" else way / INCH
    return Spindle(surface=way, limit=min(known) if known else None)


def minutes(leg: Leg, feed: float | None, mode: str | None, turning: Spindle) -> float | None:
    """Minutes a leg takes at this feed; None if they cannot be told.

    A thread takes its lead every revolution along the axis it goes further in (common practice, from memory).
    """
    if feed is None or feed <= 0:
        return None
    if leg.thread:
        far = max(abs(leg.end[0] - leg.start[0]), abs(leg.end[1] - leg.start[1]))
        straight = length(leg)
        turns = revolutions_time(leg, turning)
        return None if turns is None or not straight else turns * (far / straight) / feed
    if mode == PER_MINUTE:
        return length(leg) / feed
    if mode != PER_REVOLUTION:
        return None
    took = revolutions_time(leg, turning)
    return None if took is None else took / feed


def revolutions_time(leg: Leg, turning: Spindle) -> float | None:
    """The sum of ds / n along a leg, minutes times length for one revolution; None if a speed on the way is not known.

    At the centre without a limit no speed is known.
    """
    if turning.surface is None:
        return length(leg) / turning.rpm if turning.rpm else None
    if turning.surface <= 0:
        return None
    low, _ = radii(leg)
    if low <= SMALL and turning.limit is None:
        return None
    edge = None if turning.limit is None else turning.surface / (2 * math.pi * turning.limit)
    per = 2 * math.pi / turning.surface
    total = 0.0
    for first, last in _stretches(leg, edge):
        middle = abs(_at(leg, (first + last) / 2)[1])
        if edge is not None and turning.limit is not None and middle <= edge:
            total += length(leg) * (last - first) / turning.limit
        else:
            total += per * abs(_moment(leg, first, last))
    return total


def radii(leg: Leg) -> tuple[float, float]:
    """Least and greatest distance from the axis along a leg."""
    found = [abs(leg.start[1]), abs(leg.end[1])]
    found += [abs(bulge[1]) for bulge in bulges(leg)]
    return 0.0 if _crossings(leg, (0.0,)) else min(found), max(found)


def speeds(leg: Leg, turning: Spindle) -> tuple[float, float] | None:
    """Least and greatest revolutions a minute along a leg; None if one of them is not known."""
    near, far = radii(leg)
    fast, slow = turning.at(near), turning.at(far)
    return None if fast is None or slow is None else (slow, fast)


def _at(leg: Leg, part: float) -> Point:
    """The point after this part of the way, 0 to 1."""
    if leg.centre is None:
        return (
            leg.start[0] + part * (leg.end[0] - leg.start[0]),
            leg.start[1] + part * (leg.end[1] - leg.start[1]),
        )
    angle = bearing(leg, leg.start) + _sense(leg) * part * turned(leg)
    size = radius(leg)
    return leg.centre[0] + size * math.cos(angle), leg.centre[1] + size * math.sin(angle)


def _sense(leg: Leg) -> float:
    return -1.0 if leg.clockwise else 1.0


def _crossings(leg: Leg, heights: Sequence[float]) -> list[float]:
    """Parts of the way, 0 to 1, at which the leg is this far up (a radius with its sign)."""
    found = []
    if leg.centre is None:
        rise = leg.end[1] - leg.start[1]
        if rise:
            found = [(height - leg.start[1]) / rise for height in heights]
        return sorted(part for part in found if 0 < part < 1)
    size, angle, first = radius(leg), turned(leg), bearing(leg, leg.start)
    for height in heights:
        up = (height - leg.centre[1]) / size if size else 2.0
        if -1 <= up <= 1:
            for at in (math.asin(up), math.pi - math.asin(up)):
                found.append(((at - first) * _sense(leg)) % (2 * math.pi) / angle)
    return sorted(part for part in found if 0 < part < 1)


def _stretches(leg: Leg, edge: float | None) -> list[tuple[float, float]]:
    """The leg cut where it crosses the axis and the radius the limit begins at."""
    heights = (0.0,) if edge is None else (0.0, edge, -edge)
    cuts = [0.0, *_crossings(leg, heights), 1.0]
    return list(pairwise(cuts))


def _moment(leg: Leg, first: float, last: float) -> float:
    """The sum of r ds over a part of a leg."""
    if leg.centre is None:
        mean = (_at(leg, first)[1] + _at(leg, last)[1]) / 2
        return mean * length(leg) * (last - first)
    size, angle = radius(leg), turned(leg)
    a = bearing(leg, leg.start) + _sense(leg) * first * angle
    b = bearing(leg, leg.start) + _sense(leg) * last * angle
    swung = size * size * (math.cos(a) - math.cos(b)) * _sense(leg)
    return leg.centre[1] * size * angle * (last - first) + swung
