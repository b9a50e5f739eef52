"""How deep a tool goes against how far it stands out of its holder."""

import math
import re
from dataclasses import replace

from tracker.checks.examples import MILL, MILLING, SHEET
from tracker.checks.finding import REFUSE
from tracker.checks.rule import Example, Rule
from tracker.checks.trail import is_work
from tracker.checks.watch import Stretch, Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move
from tracker.records.job import Tool

_LENGTHS = frozenset(("43", "44", "43.4"))
_ANGLE = re.compile(r"\b(60|82|90|100|118|120|130|135|140|142|145)\s*(?:DEG|GRAD|\xb0)", re.IGNORECASE)
_DRILL = re.compile(r"DRILL|BOHRER|\bNO\.? ?\d", re.IGNORECASE)
_NO_DRILL = re.compile(r"\bTAP\b|REAM|END ?MILL", re.IGNORECASE)
_USUAL_ANGLE = 118.0


class StickOutShort(Watch):
    """The lowest Z of each tool; told at its end, with the block that leads there."""

    def begin(self, control: Control) -> None:
        """Nothing met so far."""
        self._lowest: dict[int, tuple[float, Block, str | None]] = {}
        self._offsets: dict[int, set[str | None]] = {}

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A move in the work."""
        if is_work(move):
            self._note(block, self.trail.reach(move, 2, control)[0], control)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        self._note(stretch.lowest, stretch.low[2], control)

    def _note(self, block: Block, z: float | None, control: Control) -> None:
        tool = self.trail.tool
        if tool is None or control.length not in _LENGTHS:
            return
        self._offsets.setdefault(tool, set()).add(control.offset)
        if z is not None and (tool not in self._lowest or z < self._lowest[tool][0]):
            self._lowest[tool] = (z, block, self.trail.path(block))

    def end(self, control: Control) -> None:
        """Each tool against the sheet."""
        stock = self.subject.operation.stock
        for number, (z, block, path) in self._lowest.items():
            tool = self.subject.tool(number)
            if tool is None:
                continue
            if stock is None or stock.top is None:
                self.unknown("stock top is not stated on the setup sheet", block)
            elif tool.stick_out is None:
                self.unknown(f"stick_out of T{number} is not stated", block)
            elif len(self._offsets[number]) > 1:
                self.unknown(
                    f"T{number} works under several work offsets: where the stock begins is stated for one",
                    block,
                )
            else:
                self._judge(tool, z, (block, path), self.of_sheet(stock.top, control), control)

    def _judge(
        self, tool: Tool, z: float, where: tuple[Block, str | None], top: float, control: Control
    ) -> None:
        block, path = where
        gap = self.margin(self.subject.checks.stick_out_gap, control)
        needed = top - z + gap
        has = self.of_sheet(tool.stick_out or 0.0, control)
        if has >= needed - 1e-9:
            return
        message = (
            f"to Z{fig(z)} with {fig(has)} out of its holder, needed {fig(needed)} from the top of the stock at "
            f"{fig(top)} with {fig(gap)} to spare, {fig(needed - has)} short{_point(tool, control, self)}"
        )
        self.found_at(path, block.line, block.text, message, tool=tool.number)


def _point(tool: Tool, control: Control, watch: Watch) -> str:
    """How much of a drill's depth is its point, in words."""
    point = point_of(tool)
    if point is None:
        return ""
    angle, length = point
    return f"; its point of {fig(angle)} degrees takes {fig(watch.of_sheet(length, control))} of the depth"


def point_of(tool: Tool) -> tuple[float, float] | None:
    """Angle and length of a drill's point, in units of the sheet; None for what is no drill, or has no diameter."""
    description = tool.description or ""
    if tool.diameter is None or not _DRILL.search(description) or _NO_DRILL.search(description):
        return None
    stated = _ANGLE.search(description)
    angle = float(stated[1]) if stated else _USUAL_ANGLE
    return angle, point_length(tool.diameter, angle)


def point_length(diameter: float, angle: float) -> float:
    """Length of a drill's point: half the diameter over the tangent of half the angle (degrees)."""
    return diameter / 2 / math.tan(math.radians(angle / 2))


RULES = (
    Rule(
        name="stick-out-short",
        severity=REFUSE,
        what="A tool stands out of its holder as far as it goes below the top of the stock, and the shop's margin more.",
        reason="The holder runs into the stock or the clamps: tool, holder and spindle are hit.",
        remedy="set the tool longer and put stick_out right, or waive it where the holder clears (say so, with its diameter)",
        watch=StickOutShort,
        example=Example(
            trips=MILLING,
            clean=MILLING,
            sheet=SHEET,
            trips_sheet=replace(SHEET, tools=(SHEET.tools[0], replace(SHEET.tools[1], stick_out=0.6))),
            machine=MILL,
        ),
    ),
)
