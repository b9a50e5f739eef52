"""The quick lane: rows of plain motion lines, run many at a time for a tally alone.

The reference (`tracker.machining.act`, `tally`) says what a line does. The lane does the same to lines that name axes,
centres, F and G0 to G3, while nothing is in force that makes them anything but plain moves of known length and feed:
the same operations on the same figures in the same order, so that all sums have the same bits. It stops before a line
that asks for more. `quick_plain` does it in plain Python, `_walker` compiled.
"""

from collections.abc import Callable
from typing import Protocol

from tracker.machining import quick_plain
from tracker.machining.acting import Acting
from tracker.machining.arcs import MISMATCH, SLACK
from tracker.machining.axes import LINEAR, PLANES
from tracker.machining.course import Course
from tracker.machining.feeds import PER_MINUTE
from tracker.machining.going import Going
from tracker.machining.sums import Sums
from tracker.machining.tally import Tally
from tracker.machining.watch import Block, PassedRow, RowWatcher
from tracker.nc import scan

try:
    from tracker.machining._walker import walk as _compiled
except ImportError:  # built without a C compiler
    _compiled = None

Walk = Callable[[bytes, int, int, int, Going], tuple[int, int]]
"""Runs lines of a row from one byte to another, at most so many; where it stopped, and how many lines were run."""

_WAYS = {"0": 0, "1": 1, "2": 2, "3": 3}


def walker() -> Walk:
    """The lane this installation has."""
    if _compiled is None or scan.engine() == "plain":
        return quick_plain.walk
    walk: Walk = _compiled
    return walk


BlockAt = Callable[[int], Block]
"""The block of a row that begins at a byte."""


class Lane(Protocol):
    """A lane for one who watches."""

    def go(self, data: bytes, at: int, end: int, block_at: BlockAt) -> tuple[int, int]:
        """Run lines of a row from ``at`` on: where it stopped, and how many lines were run."""


class TallyLane:
    """Runs rows for one tally."""

    def __init__(self, course: Course, tally: Tally) -> None:
        self._course = course
        self._tally = tally
        self._walk = walker()

    def go(self, data: bytes, at: int, end: int, block_at: BlockAt) -> tuple[int, int]:  # noqa: ARG002 - see `Lane`
        """Run lines of a row from ``at`` on: where it stopped, and how many lines were run."""
        course, tally = self._course, self._tally
        if not _is_ready(course.act):
            return at, 0
        sums = tally.here
        going = _begin(course, sums)
        at, lines = self._walk(data, at, end, course.setting.most_blocks - course.count, going)
        if lines:
            course.count += lines
            _end(course, going, sums)
            plunged = going.cut or going.risen
            tally.row(course.control, lines=lines, moved=going.moved, cut=going.cut, plunged=plunged)
        return at, lines


class RowLane:
    """Runs rows for a watcher that takes them in bulk; only compiled."""

    def __init__(self, course: Course, watcher: RowWatcher) -> None:
        self._course = course
        self._watcher = watcher
        self._walk = walker()

    def go(self, data: bytes, at: int, end: int, block_at: BlockAt) -> tuple[int, int]:
        """Run lines of a row from ``at`` on: where it stopped, and how many lines were run."""
        course, control = self._course, self._course.control
        if control.motion == "0" or not _is_ready(course.act) or not self._watcher.takes_rows(control):
            return at, 0
        sums = Sums(tool=None)
        going = _begin(course, sums)
        stopped, lines = self._walk(data, at, end, course.setting.most_blocks - course.count, going)
        if lines and going.passed is not None:
            first = block_at(at)
            letters, moves, low, high, lowest, fastest, fastest_line = going.passed
            row = PassedRow(
                first=first,
                last=block_at(data.rfind(b"\n", at, stopped - 1) + 1 or at) if lines > 1 else first,
                letters=frozenset(letters),
                moves=moves,
                low=low,
                high=high,
                lowest=block_at(lowest) if moves else first,
                fastest=(fastest, block_at(fastest_line)) if moves else (0.0, first),
            )
            course.count += lines
            _end(course, going, sums)
            self._watcher.row(row, control)
        return stopped, lines


def is_compiled() -> bool:
    """Whether the lane is a compiled one."""
    return walker() is not quick_plain.walk


def _is_ready(act: Acting) -> bool:
    """Whether plain lines are plain moves: of a mill whose axes, feed mode and way of reading words are known."""
    control = act.control
    return (
        not control.lathe
        and control.motion in _WAYS
        and (control.absolute is not None or act.read_as_g90)
        and not control.doubts
        and control.feed_mode in (None, PER_MINUTE)
        and None not in control.position[:LINEAR]
    )


def _begin(course: Course, sums: Sums) -> Going:
    control = course.control
    here = [one for one in control.position[:LINEAR] if one is not None]
    feed = control.feed
    tolerance = MISMATCH[control.base or "inch"]
    return Going(
        motion=_WAYS[control.motion or "0"],
        plane=PLANES[control.plane],
        absolute=control.absolute is not False,
        arc_absolute=control.arc_absolute,
        points=bool(course.asks),
        factor=course.act.factor,
        feed=feed if feed is not None and feed > 0 else 0.0,
        tolerance=tolerance,
        mismatch=tolerance * SLACK,
        here=here,
        low=sums.low,
        high=sums.high,
        cutting=sums.cutting,
        rapid=sums.rapid,
        minutes=sums.minutes,
        lowest_rapid=sums.lowest_rapid,
        feeds=sums.feeds,
    )


def _end(course: Course, going: Going, sums: Sums) -> None:
    control = course.control
    control.motion = str(going.motion)
    if going.feed:
        control.feed = going.feed
    if going.moved:
        control.position[:LINEAR] = going.here
        course.act.travelled = True
    sums.low, sums.high, sums.feeds = going.low, going.high, going.feeds
    sums.cutting, sums.rapid, sums.minutes = going.cutting, going.rapid, going.minutes
    sums.lowest_rapid = going.lowest_rapid
