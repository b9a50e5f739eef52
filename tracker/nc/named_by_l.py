"""Blocks of nothing but an L: the call of a subprogram on some controls, and the L its name (from memory).

A name is spelled as it is written: L0123 and L123 are two programs there. What stands in parentheses right behind it
is what the program is called with: L10(R1). Beside a G, an M or an axis an L is a number like others.
"""

from dataclasses import replace

from tracker.nc.item import Item, Word

_BESIDE = frozenset("LPN/")
"""Letters of such a block: P says how often."""


def calls_by_l(items: list[Item]) -> bool:
    """Whether the block may be such a call."""
    letters = {item.word.letter for item in items}
    return "L" in letters and letters <= _BESIDE


def behind_its_name(items: list[Item], line: str, start: int) -> bool:
    """Whether a comment that starts at ``start`` of the line stands right behind the L of such a call."""
    return calls_by_l(items) and any(
        item.word.letter == "L" and item.end <= start and not line[item.end : start].strip(" \t")
        for item in items
    )


def as_named(items: list[Item], line: str) -> list[Item]:
    """The items of a block, the L of such a call with the zeros it is written with."""
    return [_spelled(item, line) for item in items] if calls_by_l(items) else items


def _spelled(item: Item, line: str) -> Item:
    digits = line[item.start + 1 : item.end].strip(" \t")
    if item.word.letter != "L" or not (digits.isascii() and digits.isdigit()):
        return item
    return replace(item, word=Word("L", digits, "L" + digits))
