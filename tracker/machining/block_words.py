"""The words of one block, sorted by what they are asked for."""

from collections.abc import Iterable, Sequence

from tracker.machining.axes import AXES, PLACE
from tracker.machining.said import Said

FARTHEST = 1e9
"""No figure of a machine reaches this, and sums of figures below it stay exact enough to be shown."""
LONGEST = 300
"""Digits of a number that is past all floats."""
UNTOLD = "?"
"""Code of a G or M word whose figure cannot be told."""


class Words:
    """G and M codes in the order written, and one word of every other letter: the last of several.

    Attributes:
        said: all words as they came.
        g, m: codes as text: ``"1"``, ``"59.1"``.
        wild: letter of a figure no machine has, which counts as one that cannot be told; else None.
    """

    __slots__ = ("_by_letter", "g", "m", "said", "wild")

    def __init__(self, said: Sequence[Said]) -> None:
        self.said = said
        self.wild: str | None = None
        self.g: list[str] = []
        self.m: list[str] = []
        self._by_letter: dict[str, Said] = {}
        for item in said:
            if item.value is None:
                if (
                    len(item.word.number) > LONGEST
                    and item.word.number.strip("+-").replace(".", "").isdigit()
                ):
                    self.wild = item.letter
            elif not -FARTHEST < item.value < FARTHEST:
                item = self._untold(item)
            if item.letter == "G":
                self.g.append(code_of(item))
            elif item.letter == "M":
                self.m.append(code_of(item))
            else:
                self._by_letter[item.letter] = item

    def _untold(self, item: Said) -> Said:
        self.wild = item.letter
        return item._replace(value=None)

    def __contains__(self, letter: str) -> bool:
        return letter in self._by_letter

    def word(self, letter: str) -> Said | None:
        """The word of a letter."""
        return self._by_letter.get(letter)

    def value(self, letter: str) -> float | None:
        """The figure of a letter; None if there is no such word or its figure cannot be told."""
        item = self._by_letter.get(letter)
        return item.value if item else None

    def any_of(self, letters: Iterable[str]) -> bool:
        """Whether there is a word of one of these letters."""
        return not self._by_letter.keys().isdisjoint(letters)

    def axes(self) -> list[tuple[int, float | None]]:
        """Place and figure as written of every axis word."""
        return [
            (PLACE[letter], self._by_letter[letter].value) for letter in AXES if letter in self._by_letter
        ]

    def has_axes(self) -> bool:
        """Whether there is an axis word."""
        return not self._by_letter.keys().isdisjoint(AXES)

    def spelled(self) -> str:
        """All words as they stand in the block."""
        return " ".join(item.word.text for item in self.said)


def code_of(item: Said) -> str:
    """The code of a G or M word: ``G01.`` is ``"1"``, ``G59.1`` is ``"59.1"``.

    NISTIR 6556 section 3.3.2.1: a code may be written with a point; what is nearest to a tenth is meant.
    """
    number = item.word.number
    if number.isdigit():
        return number
    if item.value is None:
        return UNTOLD
    tenths = round(item.value * 10)
    whole, rest = divmod(tenths, 10)
    return f"{whole}.{rest}" if rest else str(whole)


def whole(value: float | None) -> int | None:
    """A figure that stands for a whole number (H, D, T, P, L), or None."""
    if value is None or abs(value - round(value)) > 0.0001:
        return None
    return round(value)
