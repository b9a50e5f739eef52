"""A whole program walked line by line: simple lines many at a time, odd ones with care.

A line that is simple but for comments that are only wording (`tracker.nc.wording`) is a simple one too.

Two things are carried from line to line: whether an unclosed ``(`` was met (from its line on every comment is code),
and whether a G10 is open (its lines are data up to the next G11, or to the end of the file). A G10 that sets an offset
in one block (L2, L20, L10 to L13 with P and an axis word) opens nothing in a file without any G11.
"""

from collections.abc import Generator, Iterator

from tracker.frozen import dataclass
from tracker.nc import simple, wording
from tracker.nc.reader import Line, careful_line
from tracker.nc.source import Page

_REMEMBERED = 4096


@dataclass(frozen=True, slots=True)
class SimpleLines:
    """Simple lines: ``text`` as written (with LF) but for their wording, ``code`` canonical without any N, with as many LF."""

    text: bytes
    code: bytes
    first: int


@dataclass(frozen=True, slots=True)
class OddLine:
    """One line read with care; ``text`` is the line as written, without its line end."""

    line: Line
    number: int
    text: bytes


class Walk:
    """Walks the pages of one program in their order.

    Args:
        has_g11: a G11 stands in the program.
        wording_is_odd: every line with a comment is an odd one.
    """

    def __init__(self, *, has_g11: bool = False, wording_is_odd: bool = False) -> None:
        self._has_g11 = has_g11
        self._wording_is_odd = wording_is_odd
        self._written: list[bytes] = []
        self._written_from = 0
        self._comments_kept = False
        self._data = False
        self._known: dict[tuple[bytes, bool, bool], Line] = {}

    def page(self, page: Page) -> Iterator[SimpleLines | OddLine]:
        """What the lines of the next page say."""
        text, first = page.text, page.first
        while text:
            done = yield from self._lines(text, first)
            text, first = b"\n".join(self._written[done:]), first + done

    def _lines(self, text: bytes, first: int) -> Generator["SimpleLines | OddLine", None, int]:
        """The lines of a text until comments become code that were left out; how many lines those were."""
        all_kept = self._comments_kept or self._wording_is_odd
        bare = text if all_kept else wording.left_out(text)
        self._written, self._written_from = text.split(b"\n") if bare is not text else [], first
        at = 0
        for start, end in simple.odd_lines(bare):
            if start > at:
                stretch = bare[at:start]
                yield from self._stretch(stretch, first)
                first += stretch.count(b"\n")
            yield self._odd(self._as_written(bare[start:end], first), first)
            at, first = end, first + 1
            if self._comments_kept and self._written:
                return first - self._written_from
        if at < len(bare):
            yield from self._stretch(bare[at:], first)
        self._written = []
        return 0

    def _as_written(self, text: bytes, number: int) -> bytes:
        """A line with its comments."""
        return self._written[number - self._written_from] + b"\n" if self._written else text

    def _stretch(self, text: bytes, first: int) -> Iterator[SimpleLines | OddLine]:
        """Lines that may all be simple; parted where they are not."""
        code = None if self._data else simple.spelled(text)
        if code is not None:
            yield SimpleLines(text, code, first)
            return
        for may_be, part in _parts(text):
            if may_be:
                yield from self._halves(part, first)
                first += part.count(b"\n")
            else:
                yield self._odd(self._as_written(part, first), first)
                first += 1

    def _halves(self, text: bytes, first: int) -> Iterator[SimpleLines | OddLine]:
        """Lines that are simple but for their codes: halved until they are, or until an odd one stands alone."""
        todo = [(text, first)]
        while todo:
            text, first = todo.pop()
            code = None if self._data else simple.spelled(text)
            if code is not None:
                yield SimpleLines(text, code, first)
                continue
            cut = text.find(b"\n", len(text) // 2) + 1
            if cut == len(text):
                cut = text.rfind(b"\n", 0, len(text) - 1) + 1
            if cut == 0:
                yield self._odd(self._as_written(text, first), first)
                continue
            todo.append((text[cut:], first + text.count(b"\n", 0, cut)))
            todo.append((text[:cut], first))

    def _odd(self, text: bytes, number: int) -> OddLine:
        key = (text, self._comments_kept, self._data)
        line = self._known.get(key)
        if line is None:
            line = careful_line(
                text[:-1].decode("latin-1"), comments_kept=self._comments_kept, data=self._data
            )
            if line.opens_comment and not self._comments_kept:
                line = careful_line(text[:-1].decode("latin-1"), comments_kept=True, data=self._data)
            if len(self._known) >= _REMEMBERED:
                self._known.clear()
            self._known[key] = line
        self._comments_kept |= line.opens_comment
        if line.closes_data:
            self._data = False
        elif line.opens_data and not (line.one_shot and not self._has_g11):
            self._data = True
        return OddLine(line, number, text[:-1])


def _parts(text: bytes) -> Iterator[tuple[bool, bytes]]:
    """Runs of lines that may be simple (True), and every other line by itself (False)."""
    run: list[bytes] = []
    for line in text.splitlines(keepends=True):
        if simple.MAY_BE_SIMPLE.fullmatch(line):
            run.append(line)
            continue
        if run:
            yield True, b"".join(run)
            run = []
        yield False, line
    if run:
        yield True, b"".join(run)
