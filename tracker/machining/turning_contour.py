"""The contour of G70 to G73: the blocks from P to Q, as pieces of a path.

Straight moves and arcs, a diameter X and a radius I, U and W counted from where the tool stands, corners by ``,C`` and
``,R`` (or C and R beside a straight move) between two straight pieces, a straight piece by ``,A`` (or A) and one
coordinate. Common practice of turning controls, from memory. What else a block holds and moves the tool makes the
contour unreadable, with the reason in words: half a contour would be a wrong one.
"""

import math
from collections.abc import Callable, Mapping, Sequence

from tracker.frozen import dataclass, replace
from tracker.machining.arcs import centre_by_radius
from tracker.machining.block_words import code_of
from tracker.machining.said import Said
from tracker.machining.turning_corner import cornered
from tracker.machining.turning_shape import SMALL, Leg, Point
from tracker.machining.watch import Block

Lines = Sequence[tuple[Block, tuple[Said, ...]]]
Convert = Callable[[float], float]
"""A length as written, in base units."""

_MOTION = {"0": 0, "1": 1, "2": 2, "3": 3}
_STILL = frozenset({"18", "40", "41", "42", "98", "99", "4"})
"""G words that leave the path of a contour as it is: plane, nose compensation, feed modes, waiting."""
_AXES = frozenset("XZUW")
_AWAY = frozenset("YVHB")


@dataclass(frozen=True, slots=True, kw_only=True)
class Contour:
    """A contour.

    Attributes:
        approach: from where the cycle starts to the first point of the shape.
        shape: the pieces after it.
        both: the approach names X and Z, which on controls of the common kind asks for pockets to be followed.
        last: G code of the last motion, ``"1"``.
    """

    approach: Leg
    shape: tuple[Leg, ...]
    both: bool
    last: str

    @property
    def legs(self) -> tuple[Leg, ...]:
        """All pieces from where the cycle starts."""
        return (self.approach, *self.shape)


@dataclass(slots=True)
class _Pen:
    """Where the tool stands while the contour is read, and what is in force."""

    at: Point
    motion: int | None
    tolerance: float
    feed: float | None = None
    speed: float | None = None


def read(
    lines: Lines, start: Point, motion: str | None, convert: Convert, tolerance: float = 0.002
) -> Contour | str:
    """The contour of these blocks from ``start``, or why it cannot be told.

    Args:
        lines: the blocks from P to Q.
        start: z and r where the cycle begins.
        motion: G code of the motion in force before the cycle.
        convert: lengths and feeds as written, in base units.
        tolerance: how far rounded figures of an arc may be off, base units.
    """
    pen = _Pen(at=start, motion=_MOTION.get(motion or ""), tolerance=tolerance)
    legs: list[Leg] = []
    corners: list[tuple[str, float] | None] = []
    both = False
    for block, said in lines:
        found = _piece(said, pen, convert)
        if isinstance(found, str):
            return f"{found} (line {block.line})"
        if found is not None:
            both = both or (not legs and _names_both(said))
            legs.append(found)
            corners.append(_corner(said, pen.motion, convert))
    if len(legs) < 2:
        return "its contour has no shape"
    shape = cornered(legs[1:], corners[1:])
    if corners[0] is not None or isinstance(shape, str):
        return shape if isinstance(shape, str) else "a corner at the first block of the contour"
    return Contour(approach=legs[0], shape=shape, both=both, last=str(pen.motion))


def _names_both(said: Sequence[Said]) -> bool:
    letters = {word.letter for word in said}
    return bool(letters & {"X", "U"}) and bool(letters & {"Z", "W"})


def _piece(said: Sequence[Said], pen: _Pen, convert: Convert) -> Leg | str | None:
    """The leg of one block, None if it does not move, or why it cannot be read."""
    strange = _codes(said, pen)
    if strange is not None:
        return strange
    figures = {word.letter: word.value for word in said if word.letter not in ("G", "M")}
    unknown = [word.word.text for word in said if word.value is None]
    if unknown:
        return f"{unknown[0]} is not known"
    known = {letter: value for letter, value in figures.items() if value is not None}
    if "F" in known:
        pen.feed = convert(known["F"])
    if "S" in known:
        pen.speed = known["S"]
    if not known.keys() & _AXES and ",A" not in known and not ("A" in known and pen.motion == 1):
        return None
    if pen.motion is None:
        return "no motion is in force"
    leg = _arc(known, pen, convert) if pen.motion > 1 else _straight(known, pen, convert)
    if not isinstance(leg, str):
        pen.at = leg.end
    return leg


def _codes(said: Sequence[Said], pen: _Pen) -> str | None:
    """Takes the G codes of a block in; returns what cannot be followed."""
    for word in said:
        if word.letter == "G":
            code = code_of(word)
            if code in _MOTION:
                pen.motion = _MOTION[code]
            elif code not in _STILL:
                return f"{word.word.text} in its contour"
        elif word.letter in _AWAY:
            return f"{word.word.text} in its contour"
    return None


def _end(known: Mapping[str, float], at: Point, convert: Convert) -> Point:
    """Where X Z U W lead to; X and U are diameters."""
    z, r = at
    if "X" in known:
        r = convert(known["X"]) / 2
    if "U" in known:
        r += convert(known["U"]) / 2
    if "Z" in known:
        z = convert(known["Z"])
    if "W" in known:
        z += convert(known["W"])
    return z, r


def _leg(pen: _Pen, end: Point) -> Leg:
    return Leg(start=pen.at, end=end, rapid=pen.motion == 0, feed=pen.feed, speed=pen.speed)


def _straight(known: Mapping[str, float], pen: _Pen, convert: Convert) -> Leg | str:
    if pen.motion == 1 and ("I" in known or "K" in known):
        return "I or K beside G1"
    angle = known.get(",A", known.get("A"))
    end = _end(known, pen.at, convert)
    if angle is None:
        return _leg(pen, end)
    across, along = bool(known.keys() & {"X", "U"}), bool(known.keys() & {"Z", "W"})
    if across is along:
        return "an angle without one of X and Z" if not across else "an angle beside X and Z"
    rise, run = math.sin(math.radians(angle)), math.cos(math.radians(angle))
    if abs(rise if across else run) < SMALL:
        return "an angle that does not lead there"
    if across:
        return _leg(pen, (pen.at[0] + (end[1] - pen.at[1]) * run / rise, end[1]))
    return _leg(pen, (end[0], pen.at[1] + (end[0] - pen.at[0]) * rise / run))


def _arc(known: Mapping[str, float], pen: _Pen, convert: Convert) -> Leg | str:
    end, clockwise = _end(known, pen.at, convert), pen.motion == 2
    if "R" in known:
        centre = centre_by_radius(
            pen.at, end, convert(known["R"]), clockwise=clockwise, tolerance=pen.tolerance
        )
        if centre is None:
            return "an arc whose ends do not fit its radius"
    elif "I" in known or "K" in known:
        centre = (pen.at[0] + convert(known.get("K", 0.0)), pen.at[1] + convert(known.get("I", 0.0)))
    else:
        return "an arc without radius or centre"
    return replace(_leg(pen, end), centre=centre, clockwise=clockwise)


def _corner(said: Sequence[Said], motion: int | None, convert: Convert) -> tuple[str, float] | None:
    """``("C", size)`` or ``("R", size)`` at the end of this block's piece."""
    for word in said:
        beside = word.letter in ("C", "R") and motion in (0, 1)
        if (beside or word.letter in (",C", ",R")) and word.value is not None:
            return word.letter[-1], convert(word.value)
    return None
