"""G2 and G3: arcs and helices by centre or radius, in three planes. NISTIR 6556 (2000), section 3.5.3."""

from collections.abc import Mapping

from tracker.machining import arcs
from tracker.machining.acting import Acting
from tracker.machining.axes import CENTRES, PLANES
from tracker.machining.block_words import Words, whole
from tracker.machining.motion import arc_length
from tracker.machining.watch import ARC, Arc

Point = tuple[float, float]
Targets = Mapping[int, float | None]


def arc(act: Acting, words: Words, *, clockwise: bool) -> None:
    """An arc to where the axis words of the block lead."""
    arc_to(act, words, act.targets(), clockwise=clockwise)


def arc_to(act: Acting, words: Words, targets: Targets, *, clockwise: bool) -> None:
    """An arc to ``targets`` (by place, base units) with the centre or radius words of the block."""
    control = act.control
    code = "G2" if clockwise else "G3"
    if control.doubts:
        act.lose(list(targets))
        return
    start, end = _ends(act, targets)
    if start is None or end is None:
        act.name(code, "from or to where the axes are not known")
        _arrive(act, targets)
        return
    centre = _centre(act, words, start, end, code, clockwise=clockwise)
    if centre is None:
        _arrive(act, targets)
        return
    radius = arcs.distance(centre, start)
    _check(act, code, radius, arcs.distance(centre, end))
    turns = whole(words.value("P")) if "P" in words and not control.lathe else 1
    angle = arcs.angle_of(start, end, centre, clockwise=clockwise, turns=max(turns or 1, 1))
    made = Arc(
        plane=control.plane, centre=_shown(act, centre), clockwise=clockwise, radius=radius, angle=angle
    )
    steps = act.steps(targets)
    rise = steps[PLANES[control.plane][2]]
    length = None if rise is None else arc_length(radius, angle, rise)
    act.go(ARC, code, targets, steps, length, arc=made)


def _scale(act: Acting, place: int) -> float:
    """On a lathe X is a diameter: half of it counts in the plane."""
    return 0.5 if act.control.lathe and place == 0 else 1.0


def _ends(act: Acting, targets: Targets) -> tuple[Point | None, Point | None]:
    """Start and end in the plane, as lengths; None where they are not known."""
    first, second, _ = PLANES[act.control.plane]
    position = act.control.position
    start = (position[first], position[second])
    end = (targets.get(first, start[0]), targets.get(second, start[1]))
    scales = _scale(act, first), _scale(act, second)
    return _point(start, scales), _point(end, scales)


def _point(place: tuple[float | None, float | None], scales: Point) -> Point | None:
    first, second = place
    return None if first is None or second is None else (first * scales[0], second * scales[1])


def _shown(act: Acting, centre: Point) -> Point:
    """The centre as it would be programmed."""
    first, second, _ = PLANES[act.control.plane]
    return centre[0] / _scale(act, first), centre[1] / _scale(act, second)


def _centre(
    act: Acting, words: Words, start: Point, end: Point, code: str, *, clockwise: bool
) -> Point | None:
    """The centre in the plane; None, and named, where there is none."""
    control = act.control
    if "R" in words:
        radius = act.length("R")
        tolerance = arcs.MISMATCH[control.base or "inch"]
        found = None
        if radius is not None:
            found = arcs.centre_by_radius(start, end, radius, clockwise=clockwise, tolerance=tolerance)
        if found is None:
            act.name(f"{code} {_text(words, 'R')}", "no arc of this radius leads there")
        return found
    letters = CENTRES[control.plane]
    if not words.any_of(letters):
        act.name(code, "neither centre nor radius")
        return None
    centre = []
    for letter, here in zip(letters, start, strict=True):
        figure = act.length(letter) if letter in words else None if control.arc_absolute else 0.0
        if figure is None:
            act.name(code, "its centre is not known")
            return None
        centre.append(figure if control.arc_absolute else here + figure)
    return centre[0], centre[1]


def _check(act: Acting, code: str, first: float, last: float) -> None:
    """The radii at start and end are nearly the same, or the arc is named (section 3.5.3.2)."""
    limit = arcs.MISMATCH[act.control.base or "inch"]
    apart = abs(first - last)
    if apart > limit * arcs.SLACK:
        act.name(code, f"radii at start and end differ by {apart:.4f}")


def _arrive(act: Acting, targets: Targets) -> None:
    for place, figure in targets.items():
        act.control.position[place] = figure


def _text(words: Words, letter: str) -> str:
    item = words.word(letter)
    return item.word.text if item else letter
