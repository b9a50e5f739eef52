"""One plain line in the quick lane: words in any order, numbers with or without a point, arcs."""

import re

from tracker.machining import arcs
from tracker.machining.block_words import FARTHEST
from tracker.machining.going import Going
from tracker.machining.motion import arc_length, line_length

_WORD = re.compile(r"([GXYZIJKRF])[ \t]*+([-+]?+[0-9.]++)")
_UNSIGNED = "XYZIJK"
_AXES = "XYZ"
_CENTRES = "IJK"
_MOST_DIGITS = 15
"""More are read by the reference."""

_Point = tuple[float, float]
_Figures = dict[str, float]


def line_of(text: str, going: Going) -> bool:
    """Run a plain line or one of wording; no, and nothing done, where it is for the reference."""
    code = ""
    figures: _Figures = {}  # of several words of a letter the last one counts, but all of them are looked at
    for letter, number in _WORD.findall(text.upper()) if "(" not in text else ():
        if letter == "G":
            code = number
            continue
        figure = _figure(letter, number, going)
        if figure is None:
            return False
        figures[letter] = figure
    way = int(code) if code else going.motion
    feed = figures["F"] * going.factor if "F" in figures else going.feed
    if "F" in figures and not feed > 0:
        return False
    moves = not figures.keys().isdisjoint(_AXES if way < 2 else _AXES + _CENTRES)
    if moves and ((way and not feed > 0) or (way < 2 and "R" in figures)):
        return False
    if moves and not _move(figures, way, feed, going):
        return False
    going.motion, going.feed = way, feed
    return True


def _figure(letter: str, number: str, going: Going) -> float | None:
    """The figure of a word; None where it is for the reference."""
    value = float(number)
    if len(number) > _MOST_DIGITS or not -FARTHEST < value < FARTHEST:
        return None
    if "." in number:
        return value
    if value and going.points and letter != "F":
        return None
    return value if value or letter not in _UNSIGNED else 0.0


def _move(figures: _Figures, way: int, feed: float, going: Going) -> bool:
    """A move to where the axes lead; no, and nothing done, where it is for the reference."""
    here = going.here
    there, steps = list(here), [0.0, 0.0, 0.0]
    for axis, letter in enumerate(_AXES):
        if letter in figures:
            figure = figures[letter] * going.factor
            there[axis] = figure if going.absolute else here[axis] + figure
            steps[axis] = there[axis] - here[axis]
    if way == 0:
        going.rapid += line_length(*steps)
        going.risen |= here[2] != there[2]
        going.pass_over(here, there)
    elif way == 1:
        _feed(going, there, line_length(*steps), feed)
    else:
        first, second, third = going.plane
        start, end = (here[first], here[second]), (there[first], there[second])
        bow = _bow(figures, start, end, going, clockwise=way == 2)
        if bow is None:
            return False
        centre, radius, angle = bow
        _feed(going, there, arc_length(radius, angle, steps[third]), feed)
        _bulge(going, start, end, centre, radius, angle, clockwise=way == 2)
    going.here, going.moved = there, True
    return True


def _feed(going: Going, there: list[float], length: float, feed: float) -> None:
    going.cutting += length
    going.minutes += length / feed
    going.cut = True
    for axis in range(len(there)):
        going.reach(axis, going.here[axis])
        going.reach(axis, there[axis])
    going.feed_at(feed)


def _bow(
    figures: _Figures, start: _Point, end: _Point, going: Going, *, clockwise: bool
) -> tuple[_Point, float, float] | None:
    """Centre, radius and angle of an arc; None where it is for the reference."""
    centre = _centre(figures, start, end, going, clockwise=clockwise)
    if centre is None:
        return None
    radius = arcs.distance(centre, start)
    if abs(radius - arcs.distance(centre, end)) > going.mismatch:
        return None
    return centre, radius, arcs.angle_of(start, end, centre, clockwise=clockwise)


def _centre(figures: _Figures, start: _Point, end: _Point, going: Going, *, clockwise: bool) -> _Point | None:
    if "R" in figures:
        radius = figures["R"] * going.factor
        return arcs.centre_by_radius(start, end, radius, clockwise=clockwise, tolerance=going.tolerance)
    letters = _CENTRES[going.plane[0]], _CENTRES[going.plane[1]]
    missing = [letter for letter in letters if letter not in figures]
    if len(missing) == len(letters) or (going.arc_absolute and missing):
        return None
    a, b = (figures[letter] * going.factor if letter in figures else 0.0 for letter in letters)
    return (a, b) if going.arc_absolute else (start[0] + a, start[1] + b)


def _bulge(
    going: Going, start: _Point, end: _Point, centre: _Point, radius: float, angle: float, *, clockwise: bool
) -> None:
    """Extents of an arc in its plane. A zero has no sign here."""
    first, second, _ = going.plane
    a, b = centre
    low, high = going.low, going.high
    across = low[first] <= a - radius and a + radius <= high[first]
    if across and low[second] <= b - radius and b + radius <= high[second]:
        return  # the whole circle lies within what was reached before
    ends = (start[0] or 0.0, start[1] or 0.0), (end[0] or 0.0, end[1] or 0.0)
    low_a, high_a, low_b, high_b = arcs.bounds(*ends, centre, radius, angle, clockwise=clockwise)
    for axis, one in ((first, low_a), (first, high_a), (second, low_b), (second, high_b)):
        going.reach(axis, one)
