"""Stretches of blocks that were moved: taken away at one place and put back unchanged at another.

A pass of its own over what the difference left unmatched, longest first at each place, with a bound on how many
places are tried for a block that stands often.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence

from tracker.frozen import dataclass
from tracker.nc.compare_change import Stretch
from tracker.nc.difference import Difference

TRIED = 48
"""Places tried for one block; blocks that stand oftener among the added ones are rarely worth more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """``length`` blocks that stood from ``old_from`` and stand from ``new_from`` now (block indices).

    ``here`` and ``there`` are the stretches they were taken from and put into.
    """

    old_from: int
    new_from: int
    length: int
    here: Stretch
    there: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """What is left of a stretch without moved blocks: block indices, ascending, maybe none."""

    stretch: Stretch
    old: Sequence[int]
    new: Sequence[int]


def moves(found: Difference) -> tuple[Move, ...]:
    """Every moved stretch, in the order of the old text."""
    places: dict[str, list[int]] = defaultdict(list)
    into: dict[int, Stretch] = {}
    for stretch in found.stretches:
        for index in range(stretch.new_from, stretch.new_to):
            places[found.new_block(index)].append(index)
            into[index] = stretch
    result: list[Move] = []
    for stretch in found.stretches:
        index = stretch.old_from
        while index < stretch.old_to:
            start, length = _longest(found, index, stretch.old_to, places, into)
            if length:
                result.append(
                    Move(old_from=index, new_from=start, length=length, here=stretch, there=into[start])
                )
            for taken in range(start, start + length):
                del into[taken]
            index += length or 1
    return tuple(result)


def _longest(
    found: Difference,
    index: int,
    old_to: int,
    places: Mapping[str, Sequence[int]],
    free: Mapping[int, Stretch],
) -> tuple[int, int]:
    """Start and length of the longest free run of added blocks that equals the removed ones from ``index``."""
    best = (0, 0)
    tried = 0
    for start in places.get(found.old_block(index), ()):
        if start not in free:
            continue
        most = min(old_to - index, free[start].new_to - start)
        length = 1
        while (
            length < most
            and start + length in free
            and found.old_block(index + length) == found.new_block(start + length)
        ):
            length += 1
        if length > best[1]:
            best = (start, length)
        tried += 1
        if tried == TRIED:
            break
    return best


def rests(found: Difference, moved: Sequence[Move]) -> tuple[Rest, ...]:
    """Every stretch without its moved blocks."""
    gone = {index for move in moved for index in range(move.old_from, move.old_from + move.length)}
    come = {index for move in moved for index in range(move.new_from, move.new_from + move.length)}
    return tuple(
        Rest(
            stretch=stretch,
            old=[index for index in range(stretch.old_from, stretch.old_to) if index not in gone],
            new=[index for index in range(stretch.new_from, stretch.new_to) if index not in come],
        )
        for stretch in found.stretches
    )


def crossed(move: Move) -> tuple[list[range], list[range]]:
    """The blocks a move went across: indices in the old text, and in the new one.

    In the new text the place they were taken from lies where their stretch is; what stands between that and where
    they stand now was crossed, and likewise in the old text.
    """
    here, there = move.here, move.there
    old_end, new_end = move.old_from + move.length, move.new_from + move.length
    if here == there:
        return (
            [range(here.old_from, move.old_from), range(old_end, here.old_to)],
            [range(here.new_from, move.new_from), range(new_end, here.new_to)],
        )
    if here.old_from < there.old_from:
        return [range(old_end, there.old_to)], [range(here.new_from, move.new_from)]
    return [range(there.old_from, move.old_from)], [range(new_end, here.new_to)]
