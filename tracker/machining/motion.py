"""Where axis words lead, and how long the way is: figures over plain lists, so that a quick lane can do the same.

A step is what an axis travels; None where it cannot be told. An axis that is not named does not travel, so its step is
0 even where it is not known where it stands.
"""

import math
from collections.abc import Mapping

Places = list[float | None]


def line_length(dx: float, dy: float, dz: float) -> float:
    """Length of a straight way."""
    return math.sqrt(dx * dx + dy * dy + dz * dz)


def arc_length(radius: float, angle: float, rise: float) -> float:
    """Length of an arc or a helix that rises this much on the third axis."""
    around = radius * angle
    return math.sqrt(around * around + rise * rise)


def steps_to(position: Places, targets: Mapping[int, float | None]) -> Places:
    """What each axis travels from ``position`` to ``targets`` (by place); only those that are named do."""
    steps: Places = [0.0] * len(position)
    for place, there in targets.items():
        here = position[place]
        steps[place] = None if here is None or there is None else there - here
    return steps


def straight(steps: Places, *, lathe: bool) -> float | None:
    """Length of a straight move of linear axes; on a lathe X counts half, for it is a diameter."""
    dx, dy, dz = steps[0], steps[1], steps[2]
    if dx is None or dy is None or dz is None:
        return None
    return line_length(dx / 2 if lathe else dx, dy, dz)


def turns_rotary(steps: Places) -> bool:
    """Whether a rotary axis travels, as far as can be told."""
    return steps[3] != 0 or steps[4] != 0 or steps[5] != 0
