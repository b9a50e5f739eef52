"""The pieces a block is made of, as they are handed on inside this room."""

from tracker.frozen import dataclass


@dataclass(frozen=True, slots=True)
class Word:
    """One piece of a block in its canonical spelling: see the table in `tracker.nc.word`."""

    letter: str
    number: str
    text: str


@dataclass(frozen=True, slots=True)
class Item:
    """A word and where it stands in its line.

    ``start`` and ``end`` are offsets in the line as written; ``value`` is the whole number written out without a
    point or minus (digits without leading zeros), or None.
    """

    word: Word
    start: int
    end: int
    value: str | None = None
