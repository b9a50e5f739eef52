"""Speeds of the spindle over a feed move: S, or what follows from diameter and limit under G96."""

from tracker.machining.control import Control
from tracker.machining.turning_minutes import leg_of
from tracker.machining.turning_speed import speeds, spindle
from tracker.machining.watch import Move


def speeds_of(move: Move, control: Control, most: float | None) -> tuple[float, ...]:
    """Revolutions a minute, lowest and highest; nothing if they are not known. ``most`` is the machine's limit."""
    if not control.surface:
        if control.speed is None:
            return ()
        return (control.speed if most is None else min(control.speed, most),)
    leg = leg_of(move.start, move.end, move.arc)
    if not control.lathe or leg is None:
        return ()
    turning = spindle(
        control.speed, surface=True, units=control.units, base=control.base, limit=control.limit, most=most
    )
    return speeds(leg, turning) or ()
