"""Finding the few blocks that matter in a long canonical text, without cutting it into blocks."""

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass

from tracker.nc.compare_words import words_of
from tracker.nc.word import Word


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
        """Whether a word with this letter has one of these numbers."""
        return any(word.letter == letter and word.number in numbers for word in self.words)

    def holds(self, letter: str) -> bool:
        """Whether it has a word with this letter."""
        return any(word.letter == letter for word in self.words)


def blocks_holding(code: bytes, needles: Iterable[bytes]) -> list[Found]:
    """Every block that holds one of ``needles`` anywhere, in order; cheap where they are rare."""
    spans: set[tuple[int, int]] = set()
    for needle in needles:
        at = code.find(needle)
        while at >= 0:
            end = end_of_block(code, at)
            spans.add((code.rfind(b"\n", 0, at) + 1, end))
            at = code.find(needle, end)
    found: list[Found] = []
    block = counted = 0
    for start, end in sorted(spans):
        block += code.count(b"\n", counted, start)
        counted = start
        text = code[start:end].decode("latin-1")
        found.append(Found(block=block, start=start, end=end, text=text, words=words_of(text)))
    return found


def end_of_block(code: bytes, at: int) -> int:
    """Where the block that holds byte ``at`` ends: its line feed, or the end of the text."""
    end = code.find(b"\n", at)
    return len(code) if end < 0 else end


def start_of(code: bytes, block: int) -> int:
    """The byte block ``block`` starts at; the length of the text if there is no such block."""
    low, high = 0, len(code)
    done = 0
    while high - low > 1 << 12:
        middle = (low + high) // 2
        count = code.count(b"\n", low, middle)
        if done + count >= block:
            high = middle
        else:
            low, done = middle, done + count
    while done < block:
        feed = code.find(b"\n", low)
        if feed < 0:
            return len(code)
        low, done = feed + 1, done + 1
    return low


def last_at_or_before(found: list[Found], block: int) -> int:
    """Position in ``found`` of the last one at or before ``block``, or -1."""
    return bisect_right([item.block for item in found], block) - 1
