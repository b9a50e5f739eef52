# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True, initializedcheck=False
"""Compiled walking of rows of plain motion lines: the quick part of `tracker.machining.quick`.

`rows` finds the rows of a program as `tracker.machining.thin` does. `walk` runs such lines as the reference
(`tracker.machining.act` and `tally`) does, in the same order of the same operations on the same figures, so that the
sums have the same bits. A line that asks for more (a radius that does not reach, a feed move without F, a number with
too many digits) is left to the reference. No rule is decided here that is not decided there.
"""

from libc.math cimport INFINITY, atan2, fabs, sqrt
from libc.string cimport memchr

from tracker.machining import arcs, block_words, plain_lines

cdef extern from "float.h":
    const int FLT_EVAL_METHOD

if FLT_EVAL_METHOD != 0:
    raise ImportError("figures are kept with more bits than Python keeps here")

include "_walker_words.pxi"
include "_walker_rows.pxi"
include "_walker_moves.pxi"
include "_walker_arcs.pxi"


cdef void load(State* s, going) except *:
    cdef int axis
    s.motion, s.absolute, s.arc_absolute, s.points = going.motion, going.absolute, going.arc_absolute, going.points
    s.first, s.second, s.third = going.plane
    s.factor, s.feed, s.tolerance, s.mismatch = going.factor, going.feed, going.tolerance, going.mismatch
    s.cutting, s.rapid, s.minutes = going.cutting, going.rapid, going.minutes
    s.lowest_rapid = going.lowest_rapid
    s.feed_low, s.feed_high = going.feeds
    s.moved, s.cut, s.risen = going.moved, going.cut, going.risen
    for axis in range(3):
        s.here[axis], s.low[axis], s.high[axis] = going.here[axis], going.low[axis], going.high[axis]
        s.ends_low[axis], s.ends_high[axis] = INFINITY, -INFINITY
    s.lowest = s.fastest_line = NULL
    s.fastest = 0.0
    s.letters = 0
    s.moves = 0


cdef void store(State* s, going) except *:
    going.motion, going.feed = s.motion, s.feed
    going.cutting, going.rapid, going.minutes = s.cutting, s.rapid, s.minutes
    going.lowest_rapid = s.lowest_rapid
    going.feeds = [s.feed_low, s.feed_high]
    going.moved, going.cut, going.risen = bool(s.moved), bool(s.cut), bool(s.risen)
    going.here = [s.here[0], s.here[1], s.here[2]]
    going.low = [s.low[0], s.low[1], s.low[2]]
    going.high = [s.high[0], s.high[1], s.high[2]]


cdef passed(State* s, const u8* data):
    """What one who watches a row is told (`tracker.machining.going`)."""
    letters = "".join(["XYZIJKRF"[at] for at in range(LETTERS) if s.letters & (1 << at)])
    low = s.ends_low[0], s.ends_low[1], s.ends_low[2]
    high = s.ends_high[0], s.ends_high[1], s.ends_high[2]
    lowest = -1 if s.lowest == NULL else s.lowest - data
    fastest_line = -1 if s.fastest_line == NULL else s.fastest_line - data
    return letters, s.moves, low, high, lowest, s.fastest, fastest_line


def walk(bytes data, Py_ssize_t at, Py_ssize_t end, Py_ssize_t most, going):
    """Run lines of a row from ``at`` on, at most so many; where it stopped, and how many lines were run.

    It stops at ``end``, after ``most`` lines, or before a line that is for the reference.
    """
    cdef State state
    cdef const u8* p = data
    cdef const u8* stop = p + end
    cdef const u8* next_line
    cdef Py_ssize_t lines = 0
    load(&state, going)
    p += at
    with nogil:
        while p < stop and lines < most:
            next_line = step(&state, p, stop)
            if next_line == NULL:
                break
            p = next_line
            lines += 1
    store(&state, going)
    going.passed = passed(&state, data)
    return p - <const u8*>data, lines
