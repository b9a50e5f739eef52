"""What an arc touches beside its ends."""

from tracker.machining import arcs
from tracker.machining.axes import PLANES
from tracker.machining.watch import ARC, Move


def bulges(move: Move, *, lathe: bool) -> tuple[tuple[int, float, float], ...]:
    """Axis, lowest and highest coordinate along an arc, for both axes of its plane; nothing of what is no arc of known ends."""
    arc = move.arc
    if move.kind != ARC or arc is None:
        return ()
    first, second, _ = PLANES[arc.plane]
    ends = move.start[first], move.start[second], move.end[first], move.end[second]
    if None in ends:
        return ()
    a, b = (0.5 if lathe and axis == 0 else 1.0 for axis in (first, second))
    scaled = [(one or 0.0) * (a, b)[place % 2] for place, one in enumerate(ends)]
    low_a, high_a, low_b, high_b = arcs.bounds(
        (scaled[0], scaled[1]),
        (scaled[2], scaled[3]),
        (arc.centre[0] * a, arc.centre[1] * b),
        arc.radius,
        arc.angle,
        clockwise=arc.clockwise,
    )
    return (first, low_a / a, high_a / a), (second, low_b / b, high_b / b)
