"""A word of a block with the figure it stands for: what the driver of a run hands to what acts."""

from typing import NamedTuple

from tracker.nc.item import Word


class Said(NamedTuple):
    """One word as it is to be acted on.

    Attributes:
        letter: as in `tracker.nc.word`; ``,R`` ``,C`` ``,A`` too.
        value: the figure in the units in force, the decimal rule of the setting applied to lengths; None: it cannot
            be told (why was named as a not-followed event before).
        word: the word as written, in canonical spelling.
    """

    letter: str
    value: float | None
    word: Word
