"""Long rows of blocks that do nothing but go on cutting, taken at one stroke.

A surface is made of hundred thousands of blocks that name axes, now and then a feed or another kind of way (G0 to
G3). What such a row uses and leaves can be told from it as a whole, on the safe side.
"""

import re
from collections.abc import Iterator

from tracker.machining.state import (
    AXES,
    CUT,
    FRAME,
    ITEMS,
    LATHE_FRAME,
    LENGTH,
    Effect,
    State,
    Value,
    frame_of,
)

SHORTEST = 64
"""Blocks; shorter rows are read block by block, which is more exact."""

_NUMBER = rb"[-+]?+(?:[0-9]++\.?+[0-9]*+|\.[0-9]++)"
_BLOCK = rb"(?:[XYZABCIJKRF]" + _NUMBER + rb"|G[0-3](?![0-9.]))++\n"
_ROW = re.compile(rb"(?m)^(?:" + _BLOCK + rb"){%d,}+" % SHORTEST)
_WAYS = ("G0", "G1", "G2", "G3")


def rows(code: bytes) -> Iterator[tuple[int, int]]:
    """First block and end of every such row in a canonical text."""
    block = counted = 0
    for match in _ROW.finditer(code):
        block += code.count(b"\n", counted, match.start())
        end = block + code.count(b"\n", match.start(), match.end())
        yield block, end
        block, counted = end, match.end()


def row_effect(text: str, state: State, *, lathe: bool) -> Effect:
    """What a row does, whose first block was done before: ``text`` are the blocks after it."""
    ways = state.ways
    motion = state.get("motion")
    known = {way: ways.of("motion", way) for way in _WAYS}
    here = {way for way in _WAYS if way in text} | {way for way, value in known.items() if value == motion}
    uses = {"motion", "radius", "D", *(LATHE_FRAME if lathe else FRAME), *AXES}
    if "Z" in text or not lathe:
        uses.update(LENGTH)
    if here != {"G0"}:
        uses.update(CUT)
    if here - {"G0", "G1"} or motion not in known.values():
        uses.update(("plane", "arc-distance", "retract", "cycle"))
    absolute = _is_absolute(state, known, lathe=lathe)
    return Effect(uses=frozenset(uses), sets=_sets(text, state, absolute=absolute, lathe=lathe))


def _is_absolute(state: State, known: dict[str, Value], *, lathe: bool) -> bool:
    """Whether every block ends where its words say."""
    absolute = lathe or state.get("distance") == state.ways.of("distance", "G90")
    return absolute and state.get("motion") in known.values()


def _sets(text: str, state: State, *, absolute: bool, lathe: bool) -> dict[str, Value]:
    ways = state.ways
    sets: dict[str, Value] = {}
    way = _last(text, "G")
    if way:
        sets["motion"] = ways.of("motion", way)
        sets["cycle"] = ways.of("cycle", "none")
    feed = _last(text, "F")
    if feed:
        sets["F"] = ways.of("F", feed)
    if not absolute:
        before = tuple(state.get(item) for item in ITEMS)
        sets |= {item: ways.of("row", item, text, before) for item in ("cycle", *AXES)}
        return sets
    for axis in AXES:
        word = _last(text, axis)
        if word:
            frame = frame_of(axis, state.get("plane"), ways, lathe=lathe)
            sets[axis] = ways.of("to", word, tuple(state.get(item) for item in frame))
    return sets


def _last(text: str, letter: str) -> str | None:
    """The last word with a letter."""
    at = text.rfind(letter)
    if at < 0:
        return None
    match = re.compile(r"[A-Z][-+]?[0-9.]+").match(text, at)
    return match.group() if match else None
