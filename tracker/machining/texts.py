"""A program text with its lines, the programs in it, and where its labels stand."""

import re
from array import array
from bisect import bisect_right
from collections.abc import Iterator
from functools import cached_property

from tracker.machining.family import family_of
from tracker.machining.lines import Line, LineReader
from tracker.machining.program import Span
from tracker.machining.thin import Lines, Row, Thin, whole
from tracker.machining.watch import Block
from tracker.nc import scan
from tracker.nc.canonical import source_of
from tracker.nc.dialect import VERBATIM

KEPT = 8192
"""Blocks kept ready for the next time they are run."""

_BEFORE = r"(?m)^(?:[ \t]|/[0-9]?+|\([^)\n]*+\))*+"
_OPENS = re.compile(
    _BEFORE + r"(?:[Nn][ \t]*+[0-9.]++[ \t]*+(?:\([^)\n]*+\)[ \t]*+)*+)?+(?:[Oo:]|%[ \t]*+[Oo:])"
)
_NUMBER = re.compile(_BEFORE + r"[Nn][ \t]*+([0-9]++)(?![0-9.])")


class NotThinError(Exception):
    """A line is asked for that was put aside in a row: the run has to begin anew with the whole text."""


class Text:
    """One text. Lines are counted from 0; ``first`` is the number of line 0 in ``thin.text``.

    A row (`tracker.machining.thin`) counts as one line: ``rows`` says which lines are rows. Whoever runs them asks
    for what is in them by `row_line`; anything else that would have to look into a row raises `NotThinError`.
    """

    def __init__(self, thin: Thin, reader: LineReader) -> None:
        self.thin = thin
        data = thin.text
        source = source_of(data)
        self.first = 1
        self.starts = array("Q")
        parts: list[str] = []
        at = 0
        for page in source.pages():
            if not parts:
                self.first = page.first
            part = page.text.decode("latin-1")
            parts.append(part)
            for line in part.split("\n")[:-1]:
                self.starts.append(at)
                at += len(line) + 1
        self.text = "".join(parts)
        self.count = len(self.starts)
        self.starts.append(at)
        self.rows = {line - self.first: row for line, row in self.thin.rows.items()}
        self.verbatim = scan.identity_fields(lambda: (data,))["dialect"] == VERBATIM
        self._reader = reader
        self._ready: dict[int, tuple[Line, Block]] = {}
        self._labels: dict[tuple[int, int], dict[str, list[int]]] = {}
        self._lines = Lines(self.thin.rows)

    def line_text(self, index: int) -> str:
        """A line as written, without its line end."""
        return self.text[self.starts[index] : self.starts[index + 1] - 1]

    def read(self, index: int) -> Line:
        """A line read."""
        return self._reader.read(self.line_text(index))

    def ready(self, index: int, program: int | None, depth: int) -> tuple[Line, Block]:
        """A line and the block it is, in a program at a depth of calls."""
        key = index * 1024 + depth
        met = self._ready.get(key)
        if met is None or met[1].program != program:
            met = self._made(index, program, depth)
            if len(self._ready) >= KEPT:
                self._ready.clear()
            self._ready[key] = met
        return met

    def _made(self, index: int, program: int | None, depth: int) -> tuple[Line, Block]:
        if index in self.rows:
            raise NotThinError
        return self._block(self.line_text(index), self._lines.physical(self.first + index), program, depth)

    def row_line(self, row: Row, at: int, done: int, program: int | None, depth: int) -> tuple[Line, Block]:
        """The line of a row that begins at byte ``at``, ``done`` lines after its first."""
        data = self.thin.data
        text = data[at : data.index(b"\n", at)].removesuffix(b"\r").decode("latin-1")
        return self._block(text, row.line + done, program, depth)

    def _block(self, text: str, number: int, program: int | None, depth: int) -> tuple[Line, Block]:
        line = self._reader.read(text)
        block = Block(
            line=number,
            number=line.number,
            program=program,
            depth=depth,
            skip=line.skip,
            words=line.words,
            comments=line.comments,
            text=text,
        )
        return line, block

    def index_at(self, offset: int) -> int:
        """The line an offset in the text stands in."""
        return bisect_right(self.starts, offset, 0, self.count) - 1

    def found(self, pattern: re.Pattern[str], first: int, end: int) -> Iterator[int]:
        """Lines from ``first`` to ``end`` in which a pattern is found, each once."""
        last = -1
        for match in pattern.finditer(self.text, self.starts[first], self.starts[end]):
            index = self.index_at(match.end() - 1)
            if index != last:
                yield index
                last = index

    @cached_property
    def family(self) -> str | None:
        """The family of control it is written for, if its words tell."""
        return family_of(self.text.encode("latin-1"))

    @cached_property
    def spans(self) -> tuple[Span, ...]:
        """The programs of the text, in order."""
        begin = self.leader
        opens = [index for index in self.found(_OPENS, begin, self.count) if self.read(index).opens]
        starts = opens if opens[:1] == [begin] else [begin, *opens]
        ends = [*starts[1:], self.count]
        return tuple(
            Span(
                number=self.read(first).program if first in opens[:1] or index else None, first=first, end=end
            )
            for index, (first, end) in enumerate(zip(starts, ends, strict=True))
        )

    @cached_property
    def main(self) -> Span:
        """The program that runs when the text is started, with what stands before it.

        The first that holds more than a frame: ``%``, comments and line numbers.
        """
        first, *others = self.spans
        if not others or any(self.counts(index) for index in range(first.first, first.end)):
            return first
        return Span(number=others[0].number, first=first.first, end=others[0].end)

    @cached_property
    def leader(self) -> int:
        """How many lines, a ``%`` behind them with them, stand before the programs and are none; mostly 0.

        A control reads a tape from its first ``%`` on, and a program from its O number; what stands before is no part
        of one (common practice, no source). Only lines that do not read as words are such a leader: words before a
        ``%`` may be a program that ends there.
        """
        odd = False
        for index in range(self.count):
            line = self.read(index)
            if line.opens:
                return index if odd else 0
            if line.percent:
                inside = range(index + 1, self.count)
                return index + 1 if odd and any(self.counts(each) for each in inside) else 0
            if line.words:
                return 0
            odd = odd or bool(line.why)
        return 0

    def counts(self, index: int) -> bool:
        """Whether a line holds more than a frame."""
        line = self.read(index)
        return bool(line.why) or bool(line.words and not line.percent) or line.opens

    @cached_property
    def by_number(self) -> dict[int, Span]:
        """Programs by O number; the first of two with one number."""
        numbers: dict[int, Span] = {}
        for span in self.spans:
            if span.number is not None:
                numbers.setdefault(span.number, span)
        return numbers

    def labels(self, span: Span) -> dict[str, list[int]]:
        """Lines by their N (whole digits without leading zeros) in one program."""
        found = self._labels.get((span.first, span.end))
        if found is None:
            if any(self.thin.is_numbered(row) for row in self.rows.values()):
                raise NotThinError
            found = self._labels[span.first, span.end] = {}
            for match in _NUMBER.finditer(self.text, self.starts[span.first], self.starts[span.end]):
                index = self.index_at(match.end() - 1)
                digits: str | None = match.group(1)
                if "(" in match.group():
                    digits = (self.read(index).number or "")[1:]
                if digits and digits.isdigit():
                    found.setdefault(digits.lstrip("0") or "0", []).append(index)
        return found


def text_of(data: Thin, reader: LineReader) -> Text:
    """A text; whole where it would not pass for words without its rows, of which the share of lines that read decides."""
    text = Text(data, reader)
    return Text(whole(data.data), reader) if text.verbatim and text.rows else text
