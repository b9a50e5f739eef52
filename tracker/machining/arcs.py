"""Arcs in a plane, as figures alone.

T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274/NGC Interpreter - Version 3", NISTIR 6556 (2000), section
3.5.3: centre and radius format. Angles in radians; first axis to second axis is counterclockwise.
"""

import math

TURN = 2 * math.pi
TINY = 1e-12
"""An angle below this is taken as none at all, so that an arc back to its start is a whole turn."""

MISMATCH = {"inch": 0.0002, "mm": 0.002}
"""How far the radii at start and end may differ (section 3.5.3.2)."""
SLACK = 1 + 1e-9
"""What that is multiplied with before an arc is named, since radii are rounded."""


def sweep(start: float, end: float, *, clockwise: bool, turns: int = 1) -> float:
    """The angle from one direction to another, above 0, up to a whole turn; more with more ``turns``."""
    angle = start - end if clockwise else end - start
    while angle <= TINY:
        angle += TURN
    while angle > TURN + TINY:
        angle -= TURN
    return angle + TURN * (turns - 1)


def angle_of(
    start: tuple[float, float],
    end: tuple[float, float],
    centre: tuple[float, float],
    *,
    clockwise: bool,
    turns: int = 1,
) -> float:
    """The angle an arc goes through."""
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    return sweep(first, last, clockwise=clockwise, turns=turns)


def distance(one: tuple[float, float], other: tuple[float, float]) -> float:
    """How far two points of the plane are apart."""
    da, db = other[0] - one[0], other[1] - one[1]
    return math.sqrt(da * da + db * db)


def centre_by_radius(
    start: tuple[float, float], end: tuple[float, float], radius: float, *, clockwise: bool, tolerance: float
) -> tuple[float, float] | None:
    """The centre of an arc given by its radius (section 3.5.3.1); a negative one goes the long way round.

    None if the points coincide, or lie further apart than the radius reaches by more than ``tolerance``.
    """
    chord = distance(start, end)
    size = abs(radius)
    if chord <= TINY or size <= TINY or chord / 2 - size > tolerance:
        return None
    half = chord / 2
    height = math.sqrt(max(size * size - half * half, 0.0))
    if clockwise == (radius > 0):
        height = -height
    da, db = (end[0] - start[0]) / chord, (end[1] - start[1]) / chord
    return (start[0] + end[0]) / 2 - db * height, (start[1] + end[1]) / 2 + da * height


def bounds(
    start: tuple[float, float],
    end: tuple[float, float],
    centre: tuple[float, float],
    radius: float,
    angle: float,
    *,
    clockwise: bool,
) -> tuple[float, float, float, float]:
    """Lowest and highest of the first axis, then of the second, along an arc: its ends and its bulges."""
    low_a, high_a = min(start[0], end[0]), max(start[0], end[0])
    low_b, high_b = min(start[1], end[1]), max(start[1], end[1])
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    for quarter, da, db in ((0.0, 1, 0), (TURN / 4, 0, 1), (TURN / 2, -1, 0), (3 * TURN / 4, 0, -1)):
        if sweep(first, quarter, clockwise=clockwise) <= angle + TINY:
            low_a, high_a = min(low_a, centre[0] + radius * da), max(high_a, centre[0] + radius * da)
            low_b, high_b = min(low_b, centre[1] + radius * db), max(high_b, centre[1] + radius * db)
    return low_a, high_a, low_b, high_b
