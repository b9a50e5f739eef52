"""The quick lane in plain Python: many lines matched at a time, figures in local names.

Straight lines with their words in the usual order (N, G, X, Y, Z, F) are what surfaces are made of; other plain lines
go by way of `quick_line`.
"""

import re
from math import sqrt

from tracker.machining.going import Going
from tracker.machining.quick_line import line_of

_FIRST, _MOST = 512, 8192
"""Bytes matched at a time: few at first, since a row may stop at once."""

_POINTED = r"([-+]?+[0-9]{0,8}+\.[0-9]*+)[ \t]*+"
_ANY = r"(?!-0++[^.0-9])([-+]?+[0-9]{0,8}+(?:\.[0-9]*+)?+)[ \t]*+"
"""A number below 10^8; a zero without a point loses its sign, which `quick_line` knows."""


def _straight(figure: str) -> re.Pattern[str]:
    return re.compile(
        r"[ \t]*+(?:N[ \t]*+[0-9]++[ \t]*+)?+(?:G(?:0(?=[01]))?+([01])[ \t]*+)?+"
        + "".join(f"(?:{axis}{figure})?+" for axis in "XYZ")
        + r"(?:F([0-9]{1,8}+(?:\.[0-9]*+)?+)[ \t]*+)?+\r?+\n|([^\n]*+\n)"
    )


_PATTERNS = {True: _straight(_POINTED), False: _straight(_ANY)}
_Point = tuple[float, float, float]
_Found = list[tuple[str, str, str, str, str, str]]
"""G, X, Y, Z, F, and the whole line where it is not of this kind."""


def walk(data: bytes, at: int, end: int, most: int, going: Going) -> tuple[int, int]:
    """Run lines of a row from ``at`` on: where it stopped, and how many lines were run.

    It stops at ``end``, after ``most`` lines, or before a line that is for the reference.
    """
    lines, size = 0, _FIRST
    while at < end and lines < most:
        stop = end if end - at <= size else data.index(b"\n", at + size) + 1
        text = data[at:stop].decode("latin-1")
        size = min(size * 2, _MOST)
        found: _Found = _PATTERNS[going.points].findall(text)
        taken = _part(text, found, min(most - lines, len(found)), going)
        lines += taken
        if taken < len(found):
            return at + sum(map(len, text.splitlines(keepends=True)[:taken])), lines
        at = stop
    return at, lines


def _part(text: str, found: _Found, end: int, going: Going) -> int:
    """Run the lines of a text, at most so many; how many were run."""
    at = 0
    lines: list[str] = []
    while True:
        at = _run(found, at, end, going)
        if at == end:
            return at
        lines = lines or text.split("\n")
        if not line_of(lines[at], going):
            return at
        at += 1


def _run(found: _Found, at: int, end: int, going: Going) -> int:
    """Run straight lines one after another; where they end, or one is not to be run here."""
    x, y, z = going.here
    motion, feed, factor, absolute = going.motion, going.feed, going.factor, going.absolute
    cutting, rapid, minutes = going.cutting, going.rapid, going.minutes
    ends: list[_Point] = []
    feeds: list[float] = []
    rapids: list[tuple[_Point, _Point]] = []
    on = False
    while at < end:
        code, to_x, to_y, to_z, said, other = found[at]
        way = int(code) if code else motion
        told = float(said) * factor if said else feed
        if other or way > 1 or (not told and (way or said)):
            break
        at += 1
        motion, feed = way, told
        if not (to_x or to_y or to_z):
            continue
        here = x, y, z
        if to_x:
            x = float(to_x) * factor if absolute else x + float(to_x) * factor
        if to_y:
            y = float(to_y) * factor if absolute else y + float(to_y) * factor
        if to_z:
            z = float(to_z) * factor if absolute else z + float(to_z) * factor
        dx, dy, dz = x - here[0], y - here[1], z - here[2]
        length = sqrt(dx * dx + dy * dy + dz * dz)
        if way:
            cutting += length
            minutes += length / feed
            ends += ((x, y, z),) if on else (here, (x, y, z))
            feeds.append(feed)
        else:
            rapid += length
            rapids.append((here, (x, y, z)))
        on = bool(way)
    going.motion, going.feed, going.here = motion, feed, [x, y, z]
    going.cutting, going.rapid, going.minutes = cutting, rapid, minutes
    _sum_up(going, ends, feeds, rapids)
    return at


def _sum_up(
    going: Going, ends: list[_Point], feeds: list[float], rapids: list[tuple[_Point, _Point]]
) -> None:
    """Extents and feeds of feed moves, and what rapids do in Z."""
    if ends:
        going.cut = going.moved = True
        low, high = going.low, going.high
        for axis, figures in enumerate(zip(*ends, strict=True)):
            low[axis], high[axis] = min(low[axis], *figures), max(high[axis], *figures)
        going.feeds = [min(going.feeds[0], *feeds), max(going.feeds[1], *feeds)]
    for start, end in rapids:
        going.moved = True
        going.risen |= start[2] != end[2]
        going.pass_over(start, end)
