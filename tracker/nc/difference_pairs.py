"""Which removed block of a stretch became which added one.

Blocks of one stretch are paired in order. Where there are as many on either side, the first became the first and so
on; otherwise pairs are chosen so that they share as much as they can. Blocks without a letter in common stay alone. A
pair only decides how a change is told (word by word instead of block gone, block come), never whether there is one.
"""

from collections import Counter
from collections.abc import Sequence

from tracker.nc.compare_words import words_of

WEIGHED = 2_500
"""Pairs weighed against each other at most; past that the blocks stay alone."""

Pair = tuple[int | None, int | None]


def paired(old: Sequence[str], new: Sequence[str]) -> list[Pair]:
    """Pairs of positions in order; None where a block has no partner. Every position stands in exactly one pair."""
    if len(old) == len(new):
        chosen = [
            (at, at)
            for at, (one, other) in enumerate(zip(old, new, strict=True))
            if _share_a_letter(one, other)
        ]
    elif len(old) * len(new) <= WEIGHED:
        chosen = _best(_described(old), _described(new))
    else:
        chosen = []
    pairs: list[Pair] = []
    x = y = 0
    for at, other in [*chosen, (len(old), len(new))]:
        pairs.extend((alone, None) for alone in range(x, at))
        pairs.extend((None, alone) for alone in range(y, other))
        if at < len(old):
            pairs.append((at, other))
        x, y = at + 1, other + 1
    return pairs


def _share_a_letter(one: str, other: str) -> bool:
    if one[:1] == other[:1]:
        return True
    return not {word.letter for word in words_of(one)}.isdisjoint([word.letter for word in words_of(other)])


def _described(blocks: Sequence[str]) -> list[Counter[str]]:
    """Per block the words and the letters in it."""
    described: list[Counter[str]] = []
    for block in blocks:
        row = words_of(block)
        described.append(Counter([*(word.text for word in row), *(word.letter + "\0" for word in row)]))
    return described


def _likeness(one: Counter[str], other: Counter[str]) -> int:
    """How many words and letters two blocks share."""
    return (one & other).total()


def _best(old: Sequence[Counter[str]], new: Sequence[Counter[str]]) -> list[tuple[int, int]]:
    """The pairs in order that share most in all."""
    likeness = [[_likeness(one, other) for other in new] for one in old]
    best = [[0] * (len(new) + 1) for _ in range(len(old) + 1)]
    for x in range(len(old) - 1, -1, -1):
        for y in range(len(new) - 1, -1, -1):
            alone = max(best[x + 1][y], best[x][y + 1])
            best[x][y] = max(alone, best[x + 1][y + 1] + likeness[x][y]) if likeness[x][y] else alone
    pairs: list[tuple[int, int]] = []
    x = y = 0
    while x < len(old) and y < len(new):
        if likeness[x][y] and best[x][y] == best[x + 1][y + 1] + likeness[x][y]:
            pairs.append((x, y))
            x, y = x + 1, y + 1
        elif best[x][y] == best[x + 1][y]:
            x += 1
        else:
            y += 1
    return pairs
