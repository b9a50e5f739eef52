"""Speeds of the spindle over a feed move: S, or what follows from diameter and limit under G96."""

from tracker.machining.control import Control
from tracker.machining.turning_shape import Leg
from tracker.machining.turning_speed import speeds, spindle
from tracker.machining.watch import Move


def speeds_of(move: Move, control: Control, most: float | None) -> tuple[float, ...]:
    """Revolutions a minute, lowest and highest; nothing if they are not known. ``most`` is the machine's limit."""
    if not control.surface:
        if control.speed is None:
            return ()
        return (control.speed if most is None else min(control.speed, most),)
    leg = _leg(move)
    if not control.lathe or leg is None:
        return ()
    turning = spindle(
        control.speed, surface=True, units=control.units, base=control.base, limit=control.limit, most=most
    )
    return speeds(leg, turning) or ()


def _leg(move: Move) -> Leg | None:
    """The move in the plane of a lathe."""
    x, z, to_x, to_z = move.start[0], move.start[2], move.end[0], move.end[2]
    if x is None or z is None or to_x is None or to_z is None:
        return None
    centre, clockwise = None, False
    if move.arc is not None and move.arc.plane == 18:
        centre, clockwise = (move.arc.centre[0], move.arc.centre[1] / 2), move.arc.clockwise
    return Leg(start=(z, x / 2), end=(to_z, to_x / 2), centre=centre, clockwise=clockwise)
