"""What each drilling cycle does in the hole, from R down and back. Sources: see `tracker.machining.drilling`."""

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

from tracker.frozen import dataclass
from tracker.machining.acting import Acting
from tracker.machining.feeds import dwell_minutes
from tracker.machining.watch import DWELL, FEED, RAPID, Move

BACK = {"inch": 0.010, "mm": 0.254}
"""How far above where it was a peck begins, and how far back a chip is broken."""
MOST_PECKS = 10_000
"""Pecks of one hole that are followed; more than these are not pecks of a drill."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A hole to be made: levels on the third axis of the plane, in base units.

    ``r`` where feed begins, ``bottom`` where it ends, ``clear`` where the tool is drawn back to.
    """

    act: Acting
    code: str
    third: int
    r: float
    bottom: float
    clear: float

    @property
    def name(self) -> str:
        """The cycle as a move is told of it."""
        return f"G{self.code}"

    def to(self, kind: str, level: float, *, first: bool = False) -> None:
        """A move along the third axis."""
        self.act.cycle_moves += 1
        self.act.line(kind, self.name, {self.third: level}, hole=first)

    def out(self) -> None:
        """Rapid to the clear level."""
        if self.act.control.position[self.third] != self.clear:
            self.to(RAPID, self.clear)

    def figure(self, letter: str) -> float | None:
        """A word of the cycle."""
        return self.act.cycle.words.get(letter)

    def dwell(self) -> None:
        """Wait at the bottom as long as P says; nothing without one."""
        item = self.act.cycle.dwell
        if item is None:
            return
        minutes, thousandths = dwell_minutes(item.value, item.word.number, letter="P")
        if thousandths and item.value:
            self.act.guess(
                f"P without a point in a dwell is read as milliseconds: {self.name} {item.word.text}"
            )
        here = tuple(self.act.control.position)
        self.act.move(Move(kind=DWELL, code=self.name, start=here, end=here, length=0.0, minutes=minutes))


def _plain(hole: Hole) -> None:
    """G81, G82, G76, G86: feed down, wait if told to, rapid out."""
    hole.to(FEED, hole.bottom, first=True)
    hole.dwell()
    hole.out()


def _fine(hole: Hole) -> None:
    """G76: as G86, drawn back beside the wall; the small way aside is not counted."""
    hole.act.guess("G76: the way aside before the tool is drawn out is not counted")
    _plain(hole)


def _fed_back(hole: Hole) -> None:
    """G84, G74, G85, G89: feed down, wait if told to, feed back to R, rapid on."""
    hole.to(FEED, hole.bottom, first=True)
    hole.dwell()
    hole.to(FEED, hole.r)
    hole.out()


def _pecks(hole: Hole) -> list[float] | None:
    """Depths of the pecks, the last one the bottom; None if Q says nothing that can be done."""
    q = hole.figure("Q")
    if q is None or q <= 0:
        hole.act.name(hole.name, "its Q is not known" if q is None else "its Q is not above 0")
        return None
    count = math.ceil((hole.r - hole.bottom) / q - 1e-9)
    if count > MOST_PECKS:
        hole.act.name(hole.name, f"more than {MOST_PECKS} pecks")
        return None
    return [hole.r - q * peck for peck in range(1, count)] + [hole.bottom]


def _peck(hole: Hole) -> None:
    """G83: every peck comes back to R, so that chips come out."""
    depths = _pecks(hole) or [hole.bottom]
    back = BACK[hole.act.control.base or "inch"]
    for count, depth in enumerate(depths):
        if count:
            hole.to(RAPID, hole.r)
            hole.to(RAPID, min(depths[count - 1] + back, hole.r))
        hole.to(FEED, depth, first=not count)
    hole.dwell()
    hole.out()


def _break_chips(hole: Hole) -> None:
    """G73: every peck goes back a little, so that the chip breaks."""
    depths = _pecks(hole) or [hole.bottom]
    back = BACK[hole.act.control.base or "inch"]
    for count, depth in enumerate(depths):
        if count:
            hole.to(RAPID, min(depths[count - 1] + back, hole.r))
        hole.to(FEED, depth, first=not count)
    hole.dwell()
    hole.out()


def _back_bore(hole: Hole) -> None:
    """G87: in beside the hole by I and J, up by feed to K, and out again (section 3.5.16.8). With a Q it differs."""
    act = hole.act
    aside = hole.figure("I"), hole.figure("J")
    top = hole.figure("K")
    if act.control.plane != 17 or top is None or None in aside:
        act.name("G87", "not by I, J and K")
        act.control.position[hole.third] = hole.clear
        return
    if not act.is_absolute():
        top += hole.bottom
    x, y = act.control.position[:2]
    beside = {0: _plus(x, aside[0]), 1: _plus(y, aside[1])}
    act.line(RAPID, hole.name, beside)
    hole.to(RAPID, hole.bottom)
    act.line(RAPID, hole.name, {0: x, 1: y})
    hole.to(FEED, top, first=True)
    hole.to(FEED, hole.bottom)
    act.line(RAPID, hole.name, beside)
    hole.out()
    act.line(RAPID, hole.name, {0: x, 1: y})


def _plus(one: float | None, other: float | None) -> float | None:
    return None if one is None or other is None else one + other


def _by_hand(hole: Hole) -> None:
    """G88: feed down, wait, stop; the operator draws the tool out, which is not counted."""
    hole.to(FEED, hole.bottom, first=True)
    hole.dwell()
    hole.act.event("stop", hole.name)
    hole.act.guess("G88: the tool is taken as drawn out by hand as far as the cycle would")
    hole.act.control.position[hole.third] = hole.clear


WAYS: Mapping[str, Callable[[Hole], None]] = MappingProxyType(
    {
        "73": _break_chips,
        "74": _fed_back,
        "76": _fine,
        "81": _plain,
        "82": _plain,
        "83": _peck,
        "84": _fed_back,
        "85": _fed_back,
        "86": _plain,
        "87": _back_bore,
        "88": _by_hand,
        "89": _fed_back,
    }
)
"""Code of a cycle -> its way."""
