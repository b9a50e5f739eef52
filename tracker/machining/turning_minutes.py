"""Minutes and speeds of moves of a lathe from what is in force, and moves as legs and back."""

from tracker.machining.control import Control
from tracker.machining.setting import Setting
from tracker.machining.turning_shape import Leg, radius, turned
from tracker.machining.turning_speed import PER_REVOLUTION, Spindle, minutes, spindle
from tracker.machining.watch import Arc, Position

PLANE = 18


def arc_of(leg: Leg) -> Arc | None:
    """The arc of a leg as it is handed out: the centre as it would be programmed, X a diameter."""
    if leg.centre is None:
        return None
    z, r = leg.centre
    return Arc(plane=PLANE, centre=(z, 2 * r), clockwise=leg.clockwise, radius=radius(leg), angle=turned(leg))


def leg_of(start: Position, end: Position, arc: Arc | None) -> Leg | None:
    """A move in X and Z as a leg; None where one of them is not known, or it is an arc in another plane."""
    x, z, to_x, to_z = start[0], start[2], end[0], end[2]
    if x is None or z is None or to_x is None or to_z is None or (arc is not None and arc.plane != PLANE):
        return None
    centre = None if arc is None else (arc.centre[0], arc.centre[1] / 2)
    clockwise = arc is not None and arc.clockwise
    return Leg(start=(z, x / 2), end=(to_z, to_x / 2), centre=centre, clockwise=clockwise)


def turning_spindle(control: Control, setting: Setting) -> Spindle:
    """How the spindle turns now."""
    return spindle(
        control.speed,
        surface=control.surface,
        units=control.units,
        base=control.base,
        limit=control.limit,
        most=setting.max_rpm,
    )


def leg_minutes(control: Control, setting: Setting, leg: Leg) -> float | None:
    """Minutes of a feed move; None where they cannot be told."""
    return minutes(leg, control.feed, control.feed_mode, turning_spindle(control, setting))


def missing(control: Control, leg: Leg | None) -> str:
    """What minutes of a feed move lack."""
    thread = leg is not None and leg.thread
    if not control.feed:
        return "F"
    if not thread and control.feed_mode is None:
        return "feed per minute or revolution"
    if control.surface and control.speed and control.units is not None and leg is not None:
        return "highest speed at the centre"
    if control.surface and control.speed and control.units is not None:
        return "diameter under G96"
    needs = thread or control.feed_mode == PER_REVOLUTION
    return "speed under feed per revolution" if needs else "F"
