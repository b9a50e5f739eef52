"""A canonical text as it is run: its programs, and the blocks of each."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from tracker.machining.run import rows
from tracker.nc.compare_words import words_of
from tracker.nc.word import Word


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One program of a text: its O number (None before the first) and its blocks ``first`` to ``end``."""

    number: int | None
    first: int
    end: int


class Program:
    """The blocks of one canonical text, read as words when asked for."""

    def __init__(self, code: bytes) -> None:
        self._code = code
        text = code.decode("latin-1")
        self.blocks = text.split("\n")
        if not self.blocks[-1]:
            self.blocks.pop()

    def words(self, block: int) -> tuple[Word, ...]:
        """The words of a block."""
        return words_of(self.blocks[block])

    @cached_property
    def rows(self) -> Mapping[int, int]:
        """Long rows of blocks that only go on cutting: second block -> end of the row."""
        return {first + 1: end for first, end in rows(self._code)}

    def row_text(self, first: int, end: int) -> str:
        """The blocks of a row."""
        return "\n".join(self.blocks[first:end])

    @cached_property
    def spans(self) -> tuple[Span, ...]:
        """The programs of the text, in order."""
        opens = [
            index for index, text in enumerate(self.blocks) if text[:1] in ("O", ":") and self._opens(index)
        ]
        starts = [0, *opens] if not opens or opens[0] else opens
        ends = [*starts[1:], len(self.blocks)]
        return tuple(
            Span(number=self._opens(first), first=first, end=end)
            for first, end in zip(starts, ends, strict=True)
        )

    @property
    def main(self) -> Span:
        """The program that runs when the text is started: the first that holds more than a frame."""
        for span in self.spans:
            if any(not text.startswith("%") for text in self.blocks[span.first : span.end]):
                return span
        return self.spans[0]

    @cached_property
    def by_number(self) -> Mapping[int, Span]:
        """Programs by O number; the first of two with one number."""
        numbers: dict[int, Span] = {}
        for span in self.spans:
            if span.number is not None:
                numbers.setdefault(span.number, span)
        return numbers

    def label(self, number: str, span: Span) -> int | None:
        """The one block of a program with this N, or None."""
        wanted = _plain(number)
        found = [
            index
            for index in range(span.first, span.end)
            if "N" in self.blocks[index]
            and any(word.letter == "N" and _plain(word.number) == wanted for word in self.words(index))
        ]
        return found[0] if len(found) == 1 else None

    def _opens(self, index: int) -> int | None:
        words = self.words(index)
        if (
            len(words) != 1
        ):  # none at all: a % that stays in the text because something stands behind the last one
            return None
        plain = words[0].letter in ("O", ":") and words[0].number.isdigit()
        return int(words[0].number) if plain else None


def _plain(number: str) -> str:
    return number.lstrip("0") or "0"
