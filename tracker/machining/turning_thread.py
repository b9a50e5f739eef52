"""Threads: the depths of G76 and the path of one pass.

Common practice of turning controls, from memory. Every pass takes the same area of chip, so the n-th is first depth times
the square root of n deep, but none takes less than the least depth; the last of them leaves the finishing allowance,
and the finishing passes take it (the first of them cuts, the others are spring passes at the same depth).

The tool comes in square to the axis here. Controls shift the start of a pass along the flank by less than the depth of
the thread: lengths differ by as much, passes and their number do not.
"""

import math
from collections.abc import Iterator, Sequence

from tracker.frozen import dataclass
from tracker.machining.turning_shape import SMALL, Leg, Point

MOST_PASSES = 1_000
"""More passes than this are a slip in the first depth, and are not followed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A thread of G76: base units, radii.

    Attributes:
        end: (z, r) at the end of the last pass.
        taper: radius at the start less radius at the end of a pass.
        height: of the thread.
        first: depth of the first pass.
        least: least depth of a pass.
        finish: left for the finishing passes.
        springs: number of finishing passes; 0: the last pass takes all.
        chamfer: length along the axis over which the tool draws out at 45 degrees.
    """

    end: Point
    height: float
    first: float
    taper: float = 0.0
    least: float = 0.0
    finish: float = 0.0
    springs: int = 0
    chamfer: float = 0.0


def depths(thread: Thread) -> tuple[float, ...] | str:
    """The depth of every pass below the top of the thread, or why it cannot be told."""
    if thread.height <= SMALL or thread.first <= SMALL:
        return "no height or no first depth"
    goal = max(thread.height - max(thread.finish, 0.0), 0.0)
    found: list[float] = []
    at = 0.0
    while at < goal - SMALL:
        if len(found) == MOST_PASSES:
            return f"more than {MOST_PASSES} passes"
        step = thread.first * (math.sqrt(len(found) + 1) - math.sqrt(len(found)))
        at = min(at + max(step, thread.least), goal)
        found.append(at)
    return (*found, *[thread.height] * thread.springs)


def thread_passes(thread: Thread, start: Point, found: Sequence[float]) -> Iterator[Leg]:
    """All legs of the passes with these depths, from ``start`` and back there."""
    side = 1.0 if start[1] >= thread.end[1] else -1.0
    top = thread.end[1] + side * thread.height
    for depth in found:
        last = (thread.end[0], top - side * depth)
        yield from thread_pass(start, last, thread.taper, thread.chamfer)


def thread_pass(start: Point, end: Point, taper: float = 0.0, chamfer: float = 0.0) -> Iterator[Leg]:
    """In, along at the lead, out and back: one pass of G92 or G76."""
    first = (start[0], end[1] + taper)
    yield Leg(start=start, end=first, rapid=True)
    last = end
    far = abs(end[0] - start[0])
    if SMALL < chamfer < far:
        back = math.copysign(chamfer, start[0] - end[0])
        knee = (end[0] + back, end[1] + taper * chamfer / far)
        out = math.copysign(chamfer, start[1] - end[1])
        last = (end[0], knee[1] + out)
        yield Leg(start=first, end=knee, thread=True)
        yield Leg(start=knee, end=last, thread=True)
    else:
        yield Leg(start=first, end=last, thread=True)
    yield Leg(start=last, end=(end[0], start[1]), rapid=True)
    yield Leg(start=(end[0], start[1]), end=start, rapid=True)
