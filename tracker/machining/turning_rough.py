"""Roughing along a contour: the passes of G71 and G72, and the pattern of G73.

Common practice of turning controls, from memory. G71 and G72, a shape that only rises (type I): from the start the tool
goes off by the stock to be left, comes down by the depth of cut for every pass, cuts along until it meets the shape with
its stock, backs off at 45 degrees by the retract, goes back, and at the end follows the shape with its stock. The passes
are those above the lowest point of that shape; the last pass along it takes the rest. Stock is a shift of the whole
shape, not a distance square to it. Retracts are taken as rapid moves.
"""

import math
from collections.abc import Iterator, Sequence

from tracker.frozen import dataclass
from tracker.machining.turning_contour import Contour
from tracker.machining.turning_frame import Frame, frame_of
from tracker.machining.turning_shape import SMALL, Leg, Point, bulges, radius, shifted

MOST_PASSES = 10_000
"""More passes than this are a slip in the depth of cut, and are not followed."""
_ROUND = 1e-4
"""How far a shape may go back and still count as rising: figures of a program are rounded to a ten thousandth."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rough:
    """What G71 or G72 is asked for: base units; ``depth`` and ``retract`` unsigned, ``stock`` as (z, r) with sign."""

    facing: bool
    depth: float
    retract: float
    stock: Point


def contour_pass(contour: Contour, start: Point, stock: Point = (0.0, 0.0)) -> list[Leg]:
    """Once along the contour, shifted by ``stock``, from ``start`` and back there."""
    legs = [shifted(leg, *stock) for leg in contour.legs]
    first = Leg(start=start, end=legs[0].end, rapid=legs[0].rapid, feed=legs[0].feed, speed=legs[0].speed)
    return [first, *legs[1:], Leg(start=legs[-1].end, end=start, rapid=True)]


def passes(contour: Contour, start: Point, asked: Rough) -> tuple[Frame, int] | str:
    """The frame the passes of a roughing cycle are cut in and how many they are, or why that cannot be told."""
    if asked.depth <= SMALL:
        return "no depth of cut"
    frame = frame_of(start, contour.approach.end, contour.shape[-1].end, facing=asked.facing)
    if frame is None:
        return "its contour leads nowhere"
    if contour.both:
        return "its first block names X and Z, which asks for pockets to be followed"
    if not _rises([frame.leg(leg) for leg in contour.shape]):
        return "a contour that falls as well as rises"
    above = frame.there(start)[1] - frame.there(contour.approach.end)[1]
    if above / asked.depth > MOST_PASSES:
        return f"more than {MOST_PASSES} passes"
    return frame, max(math.ceil((above - SMALL) / asked.depth) - 1, 0)


def roughing(contour: Contour, start: Point, asked: Rough, frame: Frame, count: int) -> Iterator[Leg]:
    """All legs of G71 or G72 from ``start`` and back there."""
    shape = [frame.leg(shifted(leg, *asked.stock)) for leg in contour.shape]
    corner = (start[0] + asked.stock[0], start[1] + asked.stock[1])
    along, top = frame.there(corner)
    at = (along, top)
    yield _leg(frame, frame.there(start), at, rapid=True)
    for number in range(1, count + 1):
        level = top - number * asked.depth
        end = _meets(shape, level)
        if end <= along + SMALL:
            continue
        down, off = (along, level), (end - asked.retract, level + asked.retract)
        yield _leg(frame, at, down, rapid=contour.approach.rapid)
        yield _leg(frame, down, (end, level), rapid=False)
        if asked.retract:
            yield _leg(frame, (end, level), off, rapid=True)
        at = (along, off[1])
        yield _leg(frame, off, at, rapid=True)
    low = frame.back(shape[0].start)
    yield Leg(start=frame.back(at), end=low, rapid=contour.approach.rapid)
    for leg in contour.shape:
        there = shifted(leg, *asked.stock)
        yield Leg(start=there.start, end=there.end, centre=there.centre, clockwise=there.clockwise)
    yield Leg(start=frame.back(shape[-1].end), end=start, rapid=True)


def pattern(contour: Contour, start: Point, stock: Point, away: Point, count: int) -> Iterator[Leg]:
    """All legs of G73 from ``start`` and back there.

    The shape is cut ``count`` (2 or more) times, first shifted by ``stock`` and ``away`` (z, r), last by ``stock``
    alone, with equal steps between.
    """
    at = start
    for number in range(count):
        left = (count - 1 - number) / (count - 1)
        shift = (stock[0] + left * away[0], stock[1] + left * away[1])
        begin = (start[0] + shift[0], start[1] + shift[1])
        yield Leg(start=at, end=begin, rapid=True)
        for leg in contour.legs:
            there = shifted(leg, *shift)
            yield Leg(
                start=there.start,
                end=there.end,
                rapid=leg is contour.approach and leg.rapid,
                centre=there.centre,
                clockwise=there.clockwise,
            )
            at = there.end
    yield Leg(start=at, end=start, rapid=True)


def _leg(frame: Frame, start: Point, end: Point, *, rapid: bool) -> Leg:
    return Leg(start=frame.back(start), end=frame.back(end), rapid=rapid)


def _rises(shape: Sequence[Leg]) -> bool:
    """Whether a shape in its frame goes neither back nor down anywhere."""
    for leg in shape:
        points = [leg.start, leg.end]
        if leg.end[0] < leg.start[0] - _ROUND or leg.end[1] < leg.start[1] - _ROUND:
            return False
        (low_along, low), (far, high) = points
        for along, height in bulges(leg):
            if not (low_along - _ROUND <= along <= far + _ROUND and low - _ROUND <= height <= high + _ROUND):
                return False
    return True


def _meets(shape: Sequence[Leg], level: float) -> float:
    """How far along a pass at this height can go: where the rising shape first is as high, else its end."""
    for leg in shape:
        if leg.end[1] >= level - SMALL:
            return _on(leg, level)
    return max(leg.end[0] for leg in shape)


def _on(leg: Leg, level: float) -> float:
    """Where along a rising leg its height is ``level``."""
    (first, low), (last, high) = leg.start, leg.end
    if level <= low:
        return first
    if leg.centre is None:
        return last if high - low <= SMALL else first + (last - first) * (level - low) / (high - low)
    size, up = radius(leg), level - leg.centre[1]
    half = math.sqrt(max(size * size - up * up, 0.0))
    inside = [
        along
        for along in (leg.centre[0] - half, leg.centre[0] + half)
        if first - _ROUND <= along <= last + _ROUND
    ]
    return inside[0] if inside else last
