"""Bytes as they come: what stands before and after the program, and where its lines end. Nothing is lost.

* *Leader*: a UTF-8 byte-order mark, NUL, DEL, DC1–DC4 and 1A (with blanks and line ends between them) before the
  first printable line; the same, but the mark, after the last one is the *trailer*.
* A *line end* is a run of CR and LF with an LF in it; every LF in it ends one line, so blank lines are lines. In a file
  without any LF every CR is a line end. Any other CR is a character like others, also before the first and after the
  last printable line: it belongs to neither leader nor trailer.
* A file is *binary* when it opens with a UTF-16 mark or a NUL stands between its printable lines.
"""

from collections.abc import Callable, Iterable, Iterator

from tracker.frozen import dataclass
from tracker.patterns import lazy_pattern

LEADER = b"\x00\x7f\x11\x12\x13\x14\x1a"
MARK = b"\xef\xbb\xbf"
UTF16 = (b"\xff\xfe", b"\xfe\xff")
PAGE = 1 << 18
"""Bytes worked on at a time."""

_OUTSIDE = LEADER + b"\r\n \t"
_LEAD = lazy_pattern(rb"(?:\xef\xbb\xbf)?(?:[ \t]*(?:[\x00\x7f\x11-\x14\x1a]|\r*\n\r*))*")
_LEAD_CR = lazy_pattern(rb"(?:\xef\xbb\xbf)?(?:[ \t]*[\x00\x7f\x11-\x14\x1a\r]+)*")
_RUN = lazy_pattern(rb"[\r\n]+")
_ENDS = lazy_pattern(rb"[\r\n]*\n[\r\n]*")
_ONE_CR = lazy_pattern(rb"\r")
_ONE_END = lazy_pattern(rb"\r*\n(?:\r+(?![\r\n]))?")
_OLD_ENDS = lazy_pattern(rb"[^\r]*\r|[^\r]+")
_SPLIT = lazy_pattern(rb"([\r\n]*\n[\r\n]*)")

Chunks = Callable[[], Iterable[bytes]]
"""Opens a program anew and hands it out in pieces of any size."""


@dataclass(frozen=True, slots=True)
class Page:
    """Some whole lines of a program: ``raw`` with their line ends, ``text`` with LF for every line end.

    ``first`` is the physical number of the first line. In the last page of a file the last line end may be missing
    from ``raw``, never from ``text``.
    """

    raw: bytes
    text: bytes
    first: int


@dataclass(slots=True)
class Source:
    """A program that can be read as often as wanted, page by page.

    ``leader``, ``trailer`` and ``binary`` are known once `pages` has run to its end.
    """

    open_chunks: Chunks
    cr_only: bool
    leader: bytes = b""
    trailer: bytes = b""
    binary: bool = False

    @classmethod
    def of(cls, open_chunks: Chunks) -> "Source":
        """A source from pieces; looks for the first LF."""
        return cls(open_chunks, cr_only=not any(b"\n" in chunk for chunk in open_chunks()))

    def pages(self) -> Iterator[Page]:
        """Pages without leader and trailer; sets ``binary`` as soon as that is seen, and then goes on."""
        first = 0
        for raw in self._whole_lines():
            first = first or 1 + self._ends_in(self.leader)
            self.binary = self.binary or b"\x00" in raw
            text = self.line_feeds(raw)
            yield Page(raw, text if text.endswith(b"\n") else text + b"\n", first)
            first += text.count(b"\n")

    def line_feeds(self, raw: bytes) -> bytes:
        """The same lines with LF for every line end."""
        if b"\r" not in raw:
            return raw
        if self.cr_only:
            return raw.replace(b"\r", b"\n")
        text = raw.replace(b"\r\n", b"\n")
        if b"\r" not in text:
            return text
        return _ENDS.sub(lambda match: b"\n" * match.group().count(b"\n"), raw)

    def lines(self, page: Page) -> list[tuple[bytes, bytes]]:
        """The lines of a page with their line ends; the end of a run of blank lines stands with the first of them."""
        if self.cr_only:
            return [(line.rstrip(b"\r"), line[len(line.rstrip(b"\r")) :]) for line in _cr_lines(page.raw)]
        parts = _SPLIT.split(page.raw)
        pairs: list[tuple[bytes, bytes]] = []
        for line, end in zip(parts[::2], [*parts[1::2], b""], strict=True):
            if line or end:
                pairs.append((line, end))
                pairs += [(b"", b"")] * (end.count(b"\n") - 1)
        return pairs

    def _whole_lines(self) -> Iterator[bytes]:
        """Raw stretches that end where a line does, without leader and trailer, in pages of about `PAGE`."""
        held, started = b"", False
        for chunk in self.open_chunks():
            held += chunk
            if len(held) < PAGE:
                continue
            if not started:
                held, started = self._without_leader(held)
                if not started:
                    continue
            cut = self._last_end(held)
            if cut:
                yield held[:cut]
                held = held[cut:]
        if not started:
            held, started = self._without_leader(held)
        if not started:
            return
        body = held[: self._printed(held)]
        blanks = len(held) - len(body) - len(held[len(body) :].lstrip(b" \t"))
        ends = _end_of(held, len(body) + blanks, cr_only=self.cr_only)
        self.trailer = held[ends:]
        if ends:
            yield held[:ends]

    def _without_leader(self, held: bytes) -> tuple[bytes, bool]:
        """What is left of the opening bytes, and whether a printable line stands in it."""
        match = (_LEAD_CR if self.cr_only else _LEAD).match(held)
        size = match.end() if match else 0
        if not held[size:].strip(_OUTSIDE):
            self.leader = held
            return held, False
        self.leader = held[:size]
        self.binary = held.startswith(UTF16)
        return held[size:], True

    def _printed(self, held: bytes) -> int:
        """Where the last printable line ends, a CR that ends no line counted as printable."""
        size = len(held.rstrip(_OUTSIDE))
        if not self.cr_only:
            for run in _RUN.finditer(held, size):
                size = size if b"\n" in run.group() else run.end()
        return size

    def _ends_in(self, raw: bytes) -> int:
        return raw.count(b"\r" if self.cr_only else b"\n")

    def _last_end(self, held: bytes) -> int:
        """Where the last line surely ends before the part that may turn out to be the trailer; 0 if nowhere."""
        sure = held.rstrip(_OUTSIDE)
        if self.cr_only:
            return sure.rfind(b"\r") + 1
        cut = sure.rfind(b"\n") + 1
        return cut and cut + len(sure) - cut - len(sure[cut:].lstrip(b"\r"))


def _cr_lines(raw: bytes) -> list[bytes]:
    return _OLD_ENDS.findall(raw)


def _end_of(held: bytes, at: int, *, cr_only: bool) -> int:
    """Behind the line end that follows ``at``, if one does."""
    match = (_ONE_CR if cr_only else _ONE_END).match(held, at)
    return match.end() if match else at
