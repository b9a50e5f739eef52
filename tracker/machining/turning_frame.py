"""A lathe contour turned so that roughing always goes the same way: along it, and down on to it.

In the frame of a roughing cycle ``along`` grows the way the passes cut and ``height`` grows away from the finished
part: for G71 along the axis and in the radius, for G72 the other way about; boring and cutting to the right are
mirrored. So one way of working out passes serves all of them.
"""

from tracker.frozen import dataclass, replace
from tracker.machining.turning_shape import SMALL, Leg, Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """How a point (z, r) lies in the frame: ``facing`` swaps the axes, ``along`` and ``up`` are 1.0 or -1.0."""

    facing: bool
    along: float
    up: float

    def there(self, point: Point) -> Point:
        """A point (z, r) as (along, height)."""
        along, height = (point[1], point[0]) if self.facing else point
        return along * self.along, height * self.up

    def back(self, point: Point) -> Point:
        """A point (along, height) as (z, r)."""
        along, height = point[0] * self.along, point[1] * self.up
        return (height, along) if self.facing else (along, height)

    def leg(self, leg: Leg) -> Leg:
        """A leg in the frame; every mirror turns the sense of an arc round, and so does swapping the axes."""
        centre = None if leg.centre is None else self.there(leg.centre)
        turns = (self.along < 0) ^ (self.up < 0) ^ self.facing
        return replace(
            leg,
            start=self.there(leg.start),
            end=self.there(leg.end),
            centre=centre,
            clockwise=leg.clockwise ^ turns,
        )


def frame_of(start: Point, low: Point, last: Point, *, facing: bool) -> Frame | None:
    """The frame of a roughing cycle; None if the cycle has nothing to cut or no way to go.

    Args:
        start: where the cycle begins.
        low: the first point of the shape, the deepest one.
        last: the last point of the shape.
        facing: G72.
    """
    z, r = 0, 1
    along, up = (r, z) if facing else (z, r)
    way, deep = last[along] - low[along], start[up] - low[up]
    if abs(way) <= SMALL or abs(deep) <= SMALL:
        return None
    return Frame(facing=facing, along=1.0 if way > 0 else -1.0, up=1.0 if deep > 0 else -1.0)
