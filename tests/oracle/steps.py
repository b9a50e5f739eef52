"""What a run comes to, told the same way whoever ran it: moves with figures, and what happens between them."""

import math
from dataclasses import dataclass, field

Place = tuple[float | None, ...]
PLANES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}
"""First, second and third axis of a plane, as places in X Y Z."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One move; coordinates are programmed ones, lengths in the program's units, angles in degrees.

    ``rate`` is length per minute of feed moves (degrees where only turning axes move); ``centre`` on the first and second axis of ``plane``; ``turns`` above 0 is
    counter-clockwise, a part of a turn counts as one. ``line`` is where it comes from, if that is known. ``machine``: the end is told in
    machine coordinates, as far as it is; ``shift`` is what they have more than programmed ones. ``lost`` holds axes
    whose place is not known since a tool change.
    """

    kind: str
    start: Place
    end: Place
    length: float | None = None
    rate: float | None = None
    seconds: float | None = None
    plane: int | None = None
    centre: tuple[float, float] | None = None
    turns: int = 0
    speed: float | None = None
    line: int = 0
    machine: bool = False
    shift: tuple[float, ...] = (0.0, 0.0, 0.0)
    lost: str = ""


@dataclass(slots=True)
class Told:
    """All of a run: its moves, and tool changes, stops and the end in their order as ``"tool 1"``, ``"stop M0"``, ….

    ``not_followed`` and ``guesses`` are what ours says of its own run. ``coarse``: some figures were printed in
    inches while the program's units are millimetres.
    """

    units: str
    coarse: bool = False
    steps: list[Step] = field(default_factory=list)
    events: list[str] = field(default_factory=list)
    error: str | None = None
    not_followed: list[str] = field(default_factory=list)
    guesses: list[str] = field(default_factory=list)


def straight(start: Place, end: Place) -> float | None:
    """Length between two places on the linear axes."""
    pairs = list(zip(start[:3], end[:3], strict=False))
    if any(a is None or b is None for a, b in pairs):
        return None
    return math.dist([a for a, _ in pairs], [b for _, b in pairs])


def swept(start: Place, end: Place, plane: int, centre: tuple[float, float], turns: int) -> float:
    """Angle of an arc in radians, above 0."""
    first, second, _ = PLANES[plane]
    before = math.atan2(start[second] - centre[1], start[first] - centre[0])
    after = math.atan2(end[second] - centre[1], end[first] - centre[0])
    part = (after - before) * (1 if turns > 0 else -1) % math.tau
    if part < 1e-3 or math.tau - part < 1e-3:  # back at the start: printed figures are rounded
        part = math.tau
    return part + math.tau * (abs(turns) - 1)


def arc_length(start: Place, end: Place, plane: int, centre: tuple[float, float], turns: int) -> float:
    first, second, third = PLANES[plane]
    radius = math.dist((start[first], start[second]), centre)
    return math.hypot(radius * swept(start, end, plane, centre, turns), end[third] - start[third])


def reach(step: Step) -> list[tuple[float, float]]:
    """Least and greatest X, Y, Z on the way; arcs with their bulges."""
    places = [step.start[:3], step.end[:3]]
    if step.kind == "arc":
        first, second, _ = PLANES[step.plane]
        a, b = step.start[first] - step.centre[0], step.start[second] - step.centre[1]
        angle = swept(step.start, step.end, step.plane, step.centre, step.turns)
        begin, radius = math.atan2(b, a), math.hypot(a, b)
        way = 1 if step.turns > 0 else -1
        for quarter in range(-8, 9):
            at = quarter * math.pi / 2
            if (at - begin) * way % math.tau <= angle:
                place = list(step.start[:3])
                place[first] = step.centre[0] + radius * math.cos(at)
                place[second] = step.centre[1] + radius * math.sin(at)
                places.append(tuple(place))
    return [(min(p[axis] for p in places), max(p[axis] for p in places)) for axis in range(3)]


def extents(steps: list[Step]) -> list[tuple[float, float]]:
    """Least and greatest X, Y, Z of all feed moves together."""
    reaches = [reach(s) for s in steps if s.kind in ("feed", "arc")]
    return (
        [(min(r[a][0] for r in reaches), max(r[a][1] for r in reaches)) for a in range(3)] if reaches else []
    )
