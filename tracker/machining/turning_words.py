"""Words of turning cycles as figures: where they lead, and lengths written as a count of least increments."""

from tracker.machining.acting import Acting
from tracker.machining.block_words import Words
from tracker.machining.turning_shape import Point

UNKNOWN = "where X Z stand or are to go is not known"
"""Why a cycle is not followed."""

LEAST = {"inch": 0.0001, "mm": 0.001}
"""The least increment of a length: what P, Q and D without a point count in (common practice, from memory)."""


def counted(act: Acting, words: Words, letter: str) -> float | None:
    """A length by P, Q or D in base units: without a point it counts least increments.

    None if there is no such word, or it cannot be told: then the units are not known, or it is an expression, of
    which it is not known how it is read.
    """
    word = words.word(letter)
    if word is None or word.value is None:
        return None
    number = word.word.number.lstrip("+-")
    if number.isdigit():
        least = LEAST.get(act.control.units or "")
        return None if least is None else float(number) * least * act.factor
    return word.value * act.factor if number.replace(".", "", 1).isdigit() else None


def standing(act: Acting) -> Point | None:
    """Where the tool stands as (z, r); None if X or Z is not known."""
    x, z = act.control.position[0], act.control.position[2]
    return None if x is None or z is None else (z, x / 2)


def leads_to(act: Acting, words: Words, start: Point) -> Point | None:
    """Where X U Z W of a cycle lead from ``start``, (z, r); None if one of them cannot be told."""
    if any(letter in words and words.value(letter) is None for letter in "XUZW"):
        return None
    z, r = start
    factor = act.factor
    x, u, along, w = (words.value(letter) for letter in "XUZW")
    r = r if x is None else x * factor / 2
    r = r if u is None else r + u * factor / 2
    z = z if along is None else along * factor
    z = z if w is None else z + w * factor
    return z, r
