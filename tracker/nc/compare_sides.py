"""One of the two texts of a comparison, with what is asked about it, found out only when asked."""

from functools import cached_property

from tracker.nc.canonical import Reading
from tracker.nc.compare_change import Side
from tracker.nc.compare_find import blocks_holding
from tracker.nc.compare_lines import Lines
from tracker.nc.compare_tools import Tools
from tracker.nc.kinds_block import At, at
from tracker.nc.kinds_precall import Reader, Staging
from tracker.nc.kinds_slower import Threads

DATA_FROM = 50
"""G10 with L from here on opens lines of data for the control, as any G10 does where a G11 closes it (common
practice, no source)."""


class Text:
    """A text as bytes and as read, and the programs it may call."""

    def __init__(self, data: bytes, reading: Reading, *, lathe: bool | None, called: Reader | None) -> None:
        self.data = data
        self.reading = reading
        self._lathe = lathe
        self._called = called

    @cached_property
    def tools(self) -> Tools:
        """Its tool changes."""
        return Tools(self.reading.code)

    @cached_property
    def staging(self) -> Staging:
        """What becomes of its T words."""
        return Staging(self.reading.code, self._called)

    @cached_property
    def threads(self) -> Threads:
        """Where it taps or threads."""
        return Threads(self.reading.code, lathe=self._lathe, called=self._called)

    @cached_property
    def _lines(self) -> Lines:
        return Lines(self.data)

    @cached_property
    def _data_lines(self) -> list[range]:
        """Blocks that are data between G10 and G11."""
        spans: list[range] = []
        opened: int | None = None
        found = blocks_holding(self.reading.code, (b"G10", b"G11"))
        closes = any(block.has("G", frozenset({"11"})) for block in found)
        for block in found:
            if block.has("G", frozenset({"11"})):
                spans += [range(opened + 1, block.block)] if opened is not None else []
                opened = None
            elif (
                opened is None
                and block.has("G", frozenset({"10"}))
                and (closes or _is_long(block.number("L")))
            ):
                opened = block.block
        if opened is not None:
            spans.append(range(opened + 1, self.reading.code.count(b"\n")))
        return spans

    def side(self, block: int) -> Side:
        """The line of a block."""
        line = self.reading.lines[block]
        return Side(line=line, text=self._lines.text(line))

    def at(self, text: str, block: int) -> At:
        """A block, ready to be judged; ``text`` is its canonical text."""
        in_data = any(block in span for span in self._data_lines)
        return at(text, block, self.staging.only_stages, lathe=bool(self._lathe), in_data=in_data)


def _is_long(number: str | None) -> bool:
    return number is not None and number.isdigit() and int(number) >= DATA_FROM
