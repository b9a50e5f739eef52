"""Which tool is in hand at a block, and whether a program reads as one for a lathe.

Where a program changes tools with M6, a tool change takes the T of its own block, else the last T before it
(NISTIR 6556 (2000) section 3.6.3). Without any M6 every T changes the tool: on a turret the first figures are the
station, the last two the offset, so ``T0100`` only cancels the offset of the tool in hand (common practice, no
source).
"""

from bisect import bisect_right

from tracker.frozen import dataclass
from tracker.nc.compare_find import Found, blocks_holding
from tracker.nc.kinds_words import is_plain

LATHE_G = (b"G70", b"G71", b"G72", b"G96")
LATHE_LIMIT_G = (b"G50", b"G92")
MILL_G = (b"G43", b"G41", b"G42")


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolChange:
    """A tool change: its block, and the tool as text (``"4"``, ``"0101"``); None if no T can be told."""

    block: int
    tool: str | None


class Tools:
    """The tool changes of one canonical text."""

    __slots__ = ("_blocks", "changes")

    def __init__(self, code: bytes) -> None:
        self.changes = tool_changes(code)
        self._blocks = [change.block for change in self.changes]

    def at(self, block: int) -> str | None:
        """The tool in hand at a block, its own tool change counted; None before the first."""
        place = bisect_right(self._blocks, block)
        return self.changes[place - 1].tool if place else None


def tool_changes(code: bytes) -> list[ToolChange]:
    """Every tool change of a canonical text, in order."""
    found = blocks_holding(code, (b"T", b"M6"))
    if any(is_tool_change(block) for block in found):
        return _by_m6(found)
    return _by_t(found)


def is_tool_change(block: Found) -> bool:
    """Whether the block holds M6."""
    return block.has("M", frozenset({"6"}))


def tool_word(block: Found) -> str | None:
    """The number of the block's last T word written out, or None; G10 data are no tool words."""
    if block.has("G", frozenset({"10"})):
        return None
    numbers = [word.number for word in block.words if word.letter == "T" and is_plain(word)]
    return numbers[-1] if numbers else None


def _by_m6(found: list[Found]) -> list[ToolChange]:
    changes: list[ToolChange] = []
    staged: str | None = None
    for block in found:
        if block.holds("T"):
            staged = tool_word(block)
        if is_tool_change(block):
            changes.append(ToolChange(block=block.block, tool=staged))
    return changes


def _by_t(found: list[Found]) -> list[ToolChange]:
    changes: list[ToolChange] = []
    for block in found:
        tool = tool_word(block)
        if tool is None or (changes and cancels_offset(tool, changes[-1].tool)):
            continue
        changes.append(ToolChange(block=block.block, tool=tool))
    return changes


def cancels_offset(tool: str, in_hand: str | None) -> bool:
    """Whether ``tool`` is the station in hand with offset 00, or ``00`` alone."""
    if len(tool) < 3 or not tool.isdigit() or int(tool[-2:]):
        return tool.isdigit() and not int(tool)
    station = int(tool[:-2])
    return not station or (in_hand is not None and station == _station(in_hand))


def _station(tool: str) -> int:
    figures = tool[:-2] if len(tool) > 2 else tool
    return int(figures) if figures.isdigit() else -1


def reads_as_lathe(*codes: bytes) -> bool | None:
    """Whether the words of these texts are a lathe's (True), a mill's (False), or say neither (None)."""
    found = [block for code in codes for block in blocks_holding(code, (b"T", b"M6", *MILL_G))]
    mill = frozenset({"43", "41", "42"})
    if any(
        is_tool_change(block) or (block.has("G", mill) and (block.holds("H") or block.holds("D")))
        for block in found
    ):
        return False
    if any(len(tool_word(block) or "") > 2 for block in found):
        return True
    turning = [block for code in codes for block in blocks_holding(code, (*LATHE_G, *LATHE_LIMIT_G))]
    return True if any(_turns(block) for block in turning) else None


def _turns(block: Found) -> bool:
    """Whether a block can only be a lathe's: contour cycles by label, constant cutting speed, a speed limit."""
    if block.has("G", frozenset({"70", "71", "72"})) and block.holds("P") and block.holds("Q"):
        return True
    if block.has("G", frozenset({"50", "92"})) and block.holds("S"):
        return True
    return block.has("G", frozenset({"96"}))
