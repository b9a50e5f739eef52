"""A watcher that gathers the way of the tool as strands of points."""

import math
from collections.abc import Callable, Iterator

from tracker.machining import arcs
from tracker.machining.axes import LINEAR, PLANES
from tracker.machining.control import Control
from tracker.machining.path_thin import Point, thinned
from tracker.machining.tally import MOST_NAMED, spelled
from tracker.machining.watch import ARC, DWELL, RAPID, Arc, Block, Event, Move

MOST_AT_ONCE = 4096
"""Points of a strand after which it is thinned and the next one begun where it ends, so that memory stays small."""
MOST_CHORDS = 360
"""Chords of one arc, at the most."""

Gathered = tuple[int, bool, int | None, tuple[Point, ...]]
"""Section, whether rapid, mark, points."""


class Gatherer:
    """Strands as they come.

    Attributes:
        strands: those that are finished; `close` finishes the last one.
        tools: (tool, line of its change) of every section.
        holes: (section, mark, bottom) of every hole of a drilling cycle.
        met, left: moves met, and those of them that are not drawn, by whether they are rapids.
        machine_moves: moves in machine coordinates.
        turns: whether a rotary axis turned.
        offsets: work offsets in force while something moved.
        not_followed: what the run does not follow.
    """

    def __init__(self, tolerance: float, mark: Callable[[Block], int | None]) -> None:
        self.strands: list[Gathered] = []
        self.tools: list[tuple[str | None, int]] = [(None, 0)]
        self.holes: list[tuple[int, int | None, Point]] = []
        self.met = {True: 0, False: 0}
        self.left = {True: 0, False: 0}
        self.machine_moves = 0
        self.turns = False
        self.offsets: dict[str, None] = {}
        self.not_followed: dict[str, None] = {}
        self._names: dict[str, str | None] = {}
        self._tolerance = tolerance
        self._mark = mark
        self._marked: int | None = None
        self._key: tuple[int, bool, int | None] = (0, True, None)
        self._points: list[Point] = []
        self._boring: tuple[Block, Point] | None = None

    # What is watched

    def block(self, block: Block, control: Control) -> None:  # noqa: ARG002 - a watcher is handed both
        """A block is about to act."""
        self._marked = self._mark(block)

    def acted(self, block: Block, control: Control) -> None:
        """The block has acted."""

    def event(self, block: Block, event: Event, control: Control) -> None:
        """Another tool begins another section."""
        if event.what == "tool":
            tool = event.value or None
            if tool is not None:  # a tool is called what it was called first, as in the summary
                tool = self._names.setdefault(tool, spelled(block, tool, lathe=control.lathe))
            self.tools.append((tool, block.line))
        elif event.what == "not-followed" and len(self.not_followed) < MOST_NAMED:
            self.not_followed[event.value] = None

    def move(self, block: Block, move: Move, control: Control) -> None:
        """The tool moves: its points join the strand in hand, or begin another one."""
        if move.kind == DWELL:
            return
        if move.machine:
            self.machine_moves += 1
            return
        rapid = move.kind == RAPID
        self.met[rapid] += 1
        self.turns |= move.start[LINEAR:] != move.end[LINEAR:]
        if control.offset is not None:
            self.offsets[control.offset] = None
        start, end = _place(move.start, lathe=control.lathe), _place(move.end, lathe=control.lathe)
        if start is None or end is None:
            self.left[rapid] += 1
            return
        self._begin((len(self.tools) - 1, rapid, self._marked), start)
        if move.kind == ARC and move.arc is not None:
            self._points += _chords(move.arc, start, end, self._tolerance, lathe=control.lathe)
        self._points.append(end)
        if not rapid:
            self._bore(block, start, end, first=move.hole)

    def _bore(self, block: Block, start: Point, end: Point, *, first: bool) -> None:
        """A feed move of a hole: its first one begins it, one that leads further the same way (a later peck) deepens it."""
        if first:
            self.holes.append((len(self.tools) - 1, self._marked, end))
            self._boring = block, _way(start, end)
        elif self._boring is not None and self._boring[0] is block:
            section, mark, bottom = self.holes[-1]
            if sum(a * b for a, b in zip(_way(bottom, end), self._boring[1], strict=True)) > 0:
                self.holes[-1] = section, mark, end

    def close(self) -> None:
        """Finish the strand in hand."""
        if len(self._points) > 1:
            self.strands.append((*self._key, thinned(self._points, self._tolerance)))
        self._points = []

    def _begin(self, key: tuple[int, bool, int | None], start: Point) -> None:
        points = self._points
        if points and key == self._key and points[-1] == start and len(points) < MOST_AT_ONCE:
            return
        self.close()
        self._key, self._points = key, [start]


def _way(start: Point, end: Point) -> Point:
    return end[0] - start[0], end[1] - start[1], end[2] - start[2]


def _place(position: tuple[float | None, ...], *, lathe: bool) -> Point | None:
    """X Y Z, or None if one of them is not known; a lathe has no Y."""
    x, y, z = position[:LINEAR]
    if lathe:
        y = 0.0
    return None if x is None or y is None or z is None else (x, y, z)


def _chords(arc: Arc, start: Point, end: Point, tolerance: float, *, lathe: bool) -> Iterator[Point]:
    """Points between the ends of an arc, its bulges among them; the third axis goes evenly."""
    first, second, third = PLANES[arc.plane]
    scales = [0.5 if lathe and axis == 0 else 1.0 for axis in (first, second)]
    ends = [(one[first] * scales[0], one[second] * scales[1]) for one in (start, end)]
    centre = arc.centre[0] * scales[0], arc.centre[1] * scales[1]
    low_a, high_a, low_b, high_b = arcs.bounds(
        ends[0], ends[1], centre, arc.radius, arc.angle, clockwise=arc.clockwise
    )
    begin = math.atan2(ends[0][1] - centre[1], ends[0][0] - centre[0])
    for turned, at in _angles(arc, begin, tolerance):
        a, b = _direction(at)
        # a point between two bulges never lies further out than they do; where radii differ a little it might
        a = min(max(centre[0] + arc.radius * a, low_a), high_a) / scales[0]
        b = min(max(centre[1] + arc.radius * b, low_b), high_b) / scales[1]
        point = [0.0, 0.0, 0.0]
        point[first], point[second] = a, b
        point[third] = start[third] + (end[third] - start[third]) * turned / arc.angle
        yield point[0], point[1], point[2]


def _angles(arc: Arc, begin: float, tolerance: float) -> list[tuple[float, float]]:
    """How far the arc has turned, and the direction there, of every point between its ends."""
    step = arc.angle
    if arc.radius > 0:
        step = 2 * math.acos(max(-1.0, 1 - min(tolerance / arc.radius, 1.0)))
    count = min(max(math.ceil(arc.angle / max(step, 1e-9)), 1), MOST_CHORDS)
    sign = -1 if arc.clockwise else 1
    found = {arc.angle * at / count: begin + sign * arc.angle * at / count for at in range(1, count)}
    for quarter in range(4):
        turned = arcs.sweep(begin, quarter * math.pi / 2, clockwise=arc.clockwise)
        while turned <= arc.angle + arcs.TINY:
            found[turned] = quarter * math.pi / 2
            turned += arcs.TURN
    return sorted(found.items())


def _direction(angle: float) -> tuple[float, float]:
    """Cosine and sine, without noise at the quarters."""
    quarters = angle / (math.pi / 2)
    if quarters == round(quarters):
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarters) % 4]
    return math.cos(angle), math.sin(angle)
