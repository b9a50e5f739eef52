"""What a comparison of two texts says: sides, changes, and the comparison itself.

Lines are physical lines of the file, from 1. Texts are latin-1, so that every byte has a character.
"""

from dataclasses import field

from tracker.frozen import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One side of a change: the physical ``line``, and the line as written without blanks at its ends."""

    line: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One kind of change at one place.

    ``tool``: the T of the tool change before it, as text (``"4"``, ``"0101"``), None before the first.
    ``old`` is None for what was added, ``new`` for what was taken away; both are None for ``numbering``, ``wording``
    and ``format``, which are said once for the whole file. For a moved stretch they are its first blocks.
    """

    kind: str
    tool: str | None
    old: Side | None
    new: Side | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Where the code differs: blocks ``old[old_from:old_to]`` stand where ``new[new_from:new_to]`` stand now.

    Block indices count from 0 in the canonical form. One of the two may be empty. Stretches ascend on both sides;
    between two of them both programs hold the same blocks.
    """

    old_from: int
    old_to: int
    new_from: int
    new_to: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """How two texts differ.

    Attributes:
        same_code: no control could act differently on the two.
        kinds: sorted by name, raw: ``feed`` and ``speed``, never ``slower``.
        changes: in the order of the new text, the three that leave the code alone last.
        slower: lowest new/old of the changed F and S, cut (never rounded up) to four decimals. None if no F or S
            changed, one rose, came or went, stands in tapping or threading, or it cannot be decided.
        lathe: whether lathe meanings were used.
        notes: what was assumed, in words.
        stretches: where the code differs, by block; empty when ``same_code``.
    """

    same_code: bool
    kinds: tuple[str, ...] = ()
    changes: tuple[Change, ...] = ()
    slower: float | None = None
    lathe: bool = False
    notes: tuple[str, ...] = ()
    stretches: tuple[Stretch, ...] = field(default=(), repr=False)
