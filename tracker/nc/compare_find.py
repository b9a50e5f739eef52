"""Finding the few blocks that matter in a long canonical text, without cutting it into blocks."""

from bisect import bisect_right
from collections.abc import Iterable

from tracker.frozen import dataclass
from tracker.nc.codes import code_of
from tracker.nc.compare_words import words_of
from tracker.nc.scan_find import end_of_block, spans_holding, start_of
from tracker.nc.word import Word

__all__ = ["Found", "blocks_holding", "end_of_block", "last_at_or_before", "start_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A block that was looked for: its index, the byte it starts and ends at (before its line feed), its words."""

    block: int
    start: int
    end: int
    text: str
    words: tuple[Word, ...]

    def number(self, letter: str) -> str | None:
        """The number of the first word with this letter."""
        return next((word.number for word in self.words if word.letter == letter), None)

    def has(self, letter: str, numbers: frozenset[str]) -> bool:
        """Whether a word with this letter has one of these numbers; for G and M ``6.`` is 6."""
        return any(
            word.letter == letter and (word.number in numbers or code_of(word.number) in numbers)
            for word in self.words
        )

    def holds(self, letter: str) -> bool:
        """Whether it has a word with this letter."""
        return any(word.letter == letter for word in self.words)


def blocks_holding(code: bytes, needles: Iterable[bytes]) -> list[Found]:
    """Every block that holds one of ``needles`` anywhere, in order; cheap where they are rare."""
    found: list[Found] = []
    for block, start, end in spans_holding(code, needles):
        text = code[start:end].decode("latin-1")
        found.append(Found(block=block, start=start, end=end, text=text, words=words_of(text)))
    return found


def last_at_or_before(found: list[Found], block: int) -> int:
    """Position in ``found`` of the last one at or before ``block``, or -1."""
    return bisect_right([item.block for item in found], block) - 1
