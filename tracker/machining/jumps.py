"""Where loops and alternatives begin and end: pairs of lines in one program, found when first asked for."""

import re
from bisect import bisect_right
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
_LOOPS = frozenset({"DO", "WHILE", "REPEAT"})
_BRANCHES = frozenset({"ELSEIF", "ELSE", "ENDIF"})
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
    """The lines of one O word, and which of them belong together.

    Attributes:
        sub: line of its first SUB.
        branches, keywords: lines with ELSEIF, ELSE and ENDIF in order, and which it is; ``endifs``: those of ENDIF.
        close, open: line of an opening -> line of its end, and back.
        inside: line of BREAK or CONTINUE -> line that opens its loop.
    """

    sub: int | None = None
    branches: list[int] = field(default_factory=list)
    keywords: list[str] = field(default_factory=list)
    endifs: list[int] = field(default_factory=list)
    close: dict[int, int] = field(default_factory=dict)
    open: dict[int, int] = field(default_factory=dict)
    inside: dict[int, int] = field(default_factory=dict)
    _stack: list[tuple[int, str]] = field(default_factory=list)
    _loops: list[int] = field(default_factory=list)

    def add(self, index: int, keyword: str) -> None:
        """The next line of the label."""
        if keyword == "SUB" and self.sub is None:
            self.sub = index
        elif keyword in _BRANCHES:
            self.branches.append(index)
            self.keywords.append(keyword)
            if keyword == "ENDIF":
                self.endifs.append(index)
        elif keyword in ("BREAK", "CONTINUE") and self._loops:
            self.inside[index] = self._loops[-1]
        wanted = _CLOSERS.get(keyword)
        if keyword == "WHILE" and self._stack and self._stack[-1][1] == "DO":
            wanted = "DO"
        if wanted is None:
            if keyword in _OPENERS:
                self._stack.append((index, keyword))
                if keyword in _LOOPS:
                    self._loops.append(index)
        elif self._stack and self._stack[-1][1] == wanted:
            begin, opener = self._stack.pop()
            if opener in _LOOPS:
                self._loops.pop()
            self.close[begin], self.open[index] = index, begin

    def branch_after(self, index: int) -> tuple[int, str] | None:
        """The next ELSEIF, ELSE or ENDIF after a line."""
        at = bisect_right(self.branches, index)
        return (self.branches[at], self.keywords[at]) if at < len(self.branches) else None

    def endif_after(self, index: int) -> int | None:
        """The next ENDIF after a line."""
        at = bisect_right(self.endifs, index)
        return self.endifs[at] if at < len(self.endifs) else None

    def end_of_loop(self, index: int) -> int | None:
        """The last line of the loop that a BREAK or CONTINUE stands in."""
        begin = self.inside.get(index)
        return None if begin is None else self.close.get(begin)


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
