"""What the tool changer can carry: length and weight."""

from dataclasses import replace

from tracker.checks.examples import MILL, MILLING, SHEET
from tracker.checks.finding import REFUSE
from tracker.checks.rule import Example, Rule
from tracker.checks.watch import Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block
from tracker.records.job import Tool

_KG_IN_LB = 0.45359237


class _Limit(Watch):
    """Each tool the first time it comes into the spindle; what is not stated is said once for all tools."""

    key = ""

    def begin(self, control: Control) -> None:
        """No tool so far."""
        self._met: dict[int, None] = {}
        self._silent: list[str] = []

    def tool(self, block: Block, control: Control) -> None:
        """A change."""
        number, machine = self.trail.tool, self.subject.machine
        tool = self.subject.tool(number)
        if tool is None or tool.number in self._met:
            return
        self._met[tool.number] = None
        if machine is None:
            self.unknown("no machine: what its changer takes is not known", block)
        elif self.most() is None:
            self.unknown(f"{self.key} of {machine.id} is not stated", block)
        else:
            self.look(block, tool, self.most() or 0.0)

    def end(self, control: Control) -> None:
        """What the sheet does not say."""
        if self._silent:
            what = self.key.removeprefix("max_tool_")
            self.unknown(f"{what} of {', '.join(self._silent)} is not stated on the setup sheet")

    def most(self) -> float | None:
        """The machine's limit, in its units."""

    def look(self, block: Block, tool: Tool, most: float) -> None:
        """Judge a tool."""

    def factor(self, ratio: float) -> float:
        """From the sheet's units to the machine's, one inch unit being ``ratio`` mm units."""
        machine, units = self.subject.machine, self.subject.operation.units
        if machine is None or units is None or units == machine.units:
            return 1.0
        return ratio if units == "inch" else 1 / ratio


class ToolTooLong(_Limit):
    """A tool that is not stated may be judged all the same: it is longer than it stands out of its holder."""

    key = "max_tool_length"

    def most(self) -> float | None:
        """The longest tool."""
        return self.subject.machine.max_tool_length if self.subject.machine else None

    def look(self, block: Block, tool: Tool, most: float) -> None:
        """Length, else stick-out."""
        stated = tool.stick_out if tool.length is None else tool.length
        long = None if stated is None else stated * self.factor(25.4)
        if long is not None and long > most + 1e-9:
            what = "stands out of its holder" if tool.length is None else "is"
            self.found(
                block, f"{what} {fig(long)} long, the changer takes {fig(most)}, {fig(long - most)} too long"
            )
        elif tool.length is None:
            self._silent.append(f"T{tool.number}")


class ToolTooHeavy(_Limit):
    """Weight with its holder."""

    key = "max_tool_weight"

    def most(self) -> float | None:
        """The heaviest tool."""
        return self.subject.machine.max_tool_weight if self.subject.machine else None

    def look(self, block: Block, tool: Tool, most: float) -> None:
        """Weight as stated."""
        if tool.weight is None:
            self._silent.append(f"T{tool.number}")
            return
        weight = tool.weight * self.factor(_KG_IN_LB)
        if weight > most + 1e-9:
            self.found(
                block, f"weighs {fig(weight)}, the changer takes {fig(most)}, {fig(weight - most)} too much"
            )


RULES = (
    Rule(
        name="tool-too-long",
        severity=REFUSE,
        what="No tool is longer than the machine's changer takes.",
        reason="It strikes the column, the door or the part while the changer swings.",
        remedy="take a shorter tool or holder and put length on the sheet right",
        follows=False,
        watch=ToolTooLong,
        example=Example(
            trips=MILLING,
            clean=MILLING,
            sheet=SHEET,
            trips_sheet=replace(SHEET, tools=(replace(SHEET.tools[0], length=13.0), SHEET.tools[1])),
            machine=MILL,
        ),
    ),
    Rule(
        name="tool-too-heavy",
        severity=REFUSE,
        what="No tool is heavier than the machine's changer takes.",
        reason="The arm lets go of it, or the magazine sags and the next change misses.",
        remedy="take a lighter tool or holder and put weight on the sheet right",
        follows=False,
        watch=ToolTooHeavy,
        example=Example(
            trips=MILLING,
            clean=MILLING,
            sheet=SHEET,
            trips_sheet=replace(SHEET, tools=(replace(SHEET.tools[0], weight=18.0), SHEET.tools[1])),
            machine=MILL,
        ),
    ),
)
