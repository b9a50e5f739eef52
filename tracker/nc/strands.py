"""The four strands of a reading while they are spun: code, numbering, wording, format.

What stands on lines of its own (numbers, wording, blank lines, lone per cent signs) waits for the next block and goes
into its lines of the strands; what follows the last block gets a last line. An entry of the format strand is one of

* ``t`` and the written line, where it is not the canonical text;
* ``e`` and the line end, where it is not LF;
* ``b``: a blank line; ``p``: a lone per cent sign that was taken away; ``o`` and, in hex, leader or trailer.

Entries are parted by 1E hex. They are there to be compared, not to be read.
"""

from array import array

from tracker.nc.reader import Line
from tracker.nc.writer import Written
from tracker.patterns import lazy_pattern

_PART = b"\x1e"
_WORDING = lazy_pattern(rb"(?s)\([^)]*\)|;.*")
_WORDING_AND_BLANKS = lazy_pattern(rb"(?s)[ \t]*(?:\([^)]*\)|;.*)")
_SIMPLE = lazy_pattern(rb"(?s)[ \t]*([Nn][ \t]*[0-9]+)?[ \t]*(.*)")
_BLANK_KINDS = ("blank", "percent")


class Strands:
    """Collects the strands of one file, block by block."""

    def __init__(self) -> None:
        self.code = bytearray()
        self.numbering = bytearray()
        self.wording = bytearray()
        self.format = bytearray()
        self.lines = array("I")
        self._numbers: list[bytes] = []
        self._words: list[bytes] = []
        self._forms: list[bytes] = []

    def outside(self, raw: bytes) -> None:
        """Leader or trailer."""
        if raw:
            self._forms.append(b"o" + raw.hex().encode("ascii"))

    def odd(self, line: Line, written: Written, number: int, end: bytes) -> None:
        """A line read with care, as it was written down, and its line end."""
        self._numbers += [text.encode("latin-1") for text in written.taken]
        self._words += [text.encode("latin-1") for text in line.wording]
        if not written.text:
            if line.kind == "percent":
                self._forms.append(b"p" + line.rest.encode("latin-1"))
            elif not (line.wording or line.number):
                self._forms.append(b"b" + line.rest.encode("latin-1"))
            return
        if line.kind == "percent":
            rest, expected = line.rest, "%"
        elif written.number_stays:
            rest, expected = line.rest_with_number, written.text
        else:
            rest, expected = line.rest, line.head + line.body
        if rest != expected:
            self._forms.append(b"t" + rest.encode("latin-1"))
        self._block(written.text.encode("latin-1"), number, end)

    def simple(self, own: list[tuple[bytes, bytes]], code: bytes, first: int, *, numbers_stay: bool) -> None:
        """Simple lines with their ends, and the canonical text of each."""
        for offset, ((text, end), spelled) in enumerate(zip(own, code.split(b"\n")[:-1], strict=True)):
            rest = text
            if b"(" in text or b";" in text:
                self._words += _WORDING.findall(text)
                rest = _WORDING_AND_BLANKS.sub(b"", text)
            if not numbers_stay:
                match = _SIMPLE.fullmatch(rest)
                if match is not None and match.group(1):
                    self._numbers.append(match.group(1))
                    rest = rest[: match.start(1)] + match.group(2)
            if spelled:
                if rest != spelled:
                    self._forms.append(b"t" + rest)
                self._block(spelled, first + offset, end)
            elif rest is text:
                self._forms.append(b"b" + text)

    def verbatim(self, ends: list[tuple[bytes, bytes]], first: int) -> None:
        """Lines of a file that is kept to the letter."""
        for offset, (text, end) in enumerate(ends):
            kept = text.rstrip(b" \t")
            if kept != text:
                self._forms.append(b"t" + text[len(kept) :])
            self._block(kept, first + offset, end)

    def binary(self, data: bytes) -> None:
        """A file that is no text."""
        self.code += data if data.endswith(b"\n") else data + b"\n"
        blocks = self.code.count(b"\n")
        self.lines = array("I", range(1, blocks + 1))
        for strand in (self.numbering, self.wording, self.format):
            strand += b"\n" * (blocks + 1)

    def close(self) -> None:
        """Write the last line: what follows the last block."""
        self._flush()

    def _block(self, text: bytes, number: int, end: bytes) -> None:
        if end.replace(b"\n", b""):
            self._forms.append(
                b"e" + (b"\r\n" if end == b"\r\n" * end.count(b"\n") else end).replace(b"\n", b"n")
            )
        self.code += text + b"\n"
        self.lines.append(number)
        self._flush()

    def _flush(self) -> None:
        for strand, waiting, parted in (
            (self.numbering, self._numbers, b" "),
            (self.wording, self._words, _PART),
            (self.format, self._forms, _PART),
        ):
            if waiting:
                strand += parted.join(waiting)
                waiting.clear()
            strand += b"\n"
