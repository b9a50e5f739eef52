"""Where loops and alternatives begin and end: pairs of lines in one program, found when first asked for."""

import re
from dataclasses import dataclass, field

from tracker.machining.program import Span
from tracker.machining.texts import Text
from tracker.nc.block import O_KEYWORDS
from tracker.nc.item import Word

_KEYWORDS = re.compile(r"(?i)DO[ \t]*+[0-9]|END|THEN|ELSE")
_O_LINE = re.compile(
    r"(?m)^(?:[ \t]|/[0-9]?+|\([^)\n]*+\))*+(?:[Nn][ \t]*+[0-9.]++[ \t]*+)?+[Oo][ \t]*+(?:[0-9]++|<[^<>\n]*+>)[ \t]*+[A-Za-z]"
)
_OPENERS = frozenset({"SUB", "IF", "DO", "WHILE", "REPEAT"})
_CLOSERS = {"ENDSUB": "SUB", "ENDIF": "IF", "ENDWHILE": "WHILE", "ENDREPEAT": "REPEAT"}


@dataclass(slots=True)
class Pairs:
    """Lines of one program that belong together.

    Attributes:
        end: line of DO -> line of its END; line of a THEN block or its ELSE -> line of its ENDIF.
        begin: line of END -> line of its DO.
        other: line of a THEN block -> line of its ELSE.
    """

    end: dict[int, int] = field(default_factory=dict)
    begin: dict[int, int] = field(default_factory=dict)
    other: dict[int, int] = field(default_factory=dict)


def pairs_of(text: Text, span: Span) -> Pairs:
    """The pairs of a program."""
    pairs = Pairs()
    loops: dict[str, list[int]] = {}
    blocks: list[int] = []
    for index in text.found(_KEYWORDS, span.first, span.end):
        words = text.read(index).words
        if len(words) > 1 and words[0].letter == "O":
            continue
        for word in words:
            if word.letter == "DO":
                loops.setdefault(word.number, []).append(index)
            elif word.letter == "END" and loops.get(word.number):
                begin = loops[word.number].pop()
                pairs.end[begin], pairs.begin[index] = index, begin
        _alternatives(words, index, blocks, pairs)
    return pairs


def _alternatives(words: tuple[Word, ...], index: int, blocks: list[int], pairs: Pairs) -> None:
    if not words:
        return
    if words[-1].letter == "THEN":
        blocks.append(index)
    elif words[0].letter == "ELSE" and blocks:
        pairs.other[blocks[-1]] = index
    elif words[0].letter == "ENDIF" and blocks:
        begin = blocks.pop()
        pairs.end[begin] = index
        if begin in pairs.other:
            pairs.end[pairs.other[begin]] = index


@dataclass(slots=True)
class OLabel:
    """The lines of one O word: (line, keyword) in order, and which of them belong together."""

    lines: list[tuple[int, str]] = field(default_factory=list)
    close: dict[int, int] = field(default_factory=dict)
    open: dict[int, int] = field(default_factory=dict)
    _stack: list[tuple[int, str]] = field(default_factory=list)

    def add(self, index: int, keyword: str) -> None:
        """The next line of the label."""
        self.lines.append((index, keyword))
        wanted = _CLOSERS.get(keyword)
        if keyword == "WHILE" and self._stack and self._stack[-1][1] == "DO":
            wanted = "DO"
        if wanted is None:
            if keyword in _OPENERS:
                self._stack.append((index, keyword))
        elif self._stack and self._stack[-1][1] == wanted:
            begin, _ = self._stack.pop()
            self.close[begin], self.open[index] = index, begin

    def next_of(self, index: int, keywords: frozenset[str]) -> tuple[int, str] | None:
        """The first line after ``index`` with one of these keywords."""
        return next((line for line in self.lines if line[0] > index and line[1] in keywords), None)

    def around(self, index: int) -> tuple[int, int] | None:
        """First and last line of the innermost loop of the label that a line stands in."""
        loops = [(a, b) for a, b in self.close.items() if a < index < b]
        return max(loops) if loops else None


def o_labels(text: Text) -> dict[str, OLabel]:
    """All O words with a keyword of a text, by label."""
    found: dict[str, OLabel] = {}
    for index in text.found(_O_LINE, 0, text.count):
        words = text.read(index).words
        if len(words) > 1 and words[0].letter == "O" and words[1].letter in O_KEYWORDS:
            found.setdefault(label_of(words[0].number), OLabel()).add(index, words[1].letter)
    return found


def label_of(number: str) -> str:
    """The label an O word names: digits without leading zeros, or a name without blanks in lower case."""
    if number.startswith("<"):
        return number.translate({32: None, 9: None}).lower()
    return number.lstrip("0") or "0"
