"""The magazine: how many pockets, large tools and the pockets beside them."""

from dataclasses import replace

from tracker.checks.examples import MILL, MILLING, SHEET, UMBRELLA, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import Example, Rule
from tracker.checks.watch import Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block
from tracker.records.job import Tool

_FIXED = frozenset(("umbrella", "turret"))


class _AtChange(Watch):
    """What is asked the first time a tool comes into the spindle."""

    def begin(self, control: Control) -> None:
        """No tool so far."""
        self._met: set[int] = set()

    def tool(self, block: Block, control: Control) -> None:
        """A change."""
        number = self.trail.tool
        if number and number not in self._met:
            self._met.add(number)
            self.judge(block, number, self.subject.tool(number), control)

    def judge(self, block: Block, number: int, tool: Tool | None, control: Control) -> None:
        """Ask."""

    def missing(self, key: str, block: Block) -> None:
        """A figure of the machine that is not there."""
        machine = self.subject.machine
        self.unknown(
            f"{key} of {machine.id} is not stated" if machine else "no machine: its magazine is not known",
            block,
        )


class NoSuchPocket(_AtChange):
    """A tool number above the pockets of a changer whose pockets are the tool numbers."""

    def judge(self, block: Block, number: int, tool: Tool | None, control: Control) -> None:
        """On a side-mount changer numbers and pockets part ways."""
        machine = self.subject.machine
        if machine is None or machine.changer is None:
            self.missing("changer", block)
        elif machine.changer in _FIXED and machine.pockets is None:
            self.missing("pockets", block)
        elif machine.changer in _FIXED and machine.pockets is not None and number > machine.pockets:
            self.found(
                block,
                f"{machine.id} has {machine.pockets} pockets, {number - machine.pockets} less than the number",
            )


class LargeNotMarked(_AtChange):
    """A tool wider than a full magazine takes that the sheet does not call large."""

    def judge(self, block: Block, number: int, tool: Tool | None, control: Control) -> None:
        """Its diameter against the machine's figure; where tools are changed by hand there is no magazine."""
        machine = self.subject.machine
        if machine is not None and machine.changer == "manual":
            return
        if machine is None or machine.large_tool_over is None:
            self.missing("large_tool_over", block)
        elif tool is None or tool.large:
            return
        elif tool.diameter is None:
            self.unknown(f"diameter of T{number} is not stated", block)
        else:
            wide, most = (
                self.of_sheet(tool.diameter, control),
                self.of_machine(machine.large_tool_over, control),
            )
            if wide > most:
                self.found(
                    block,
                    f"{fig(wide)} wide, large above {fig(most)}, by {fig(wide - most)}, and not marked large",
                )


class LargeBeside(_AtChange):
    """A large tool with another one in the pocket beside it."""

    def judge(self, block: Block, number: int, tool: Tool | None, control: Control) -> None:
        """The ring of pockets: behind the last comes the first."""
        machine = self.subject.machine
        if tool is None or not tool.large:
            return
        if machine is None or machine.pockets is None:
            self.missing("pockets", block)
        elif machine.changer not in _FIXED:
            self.unknown(
                "on this changer pockets are not the tool numbers: see to the room beside a large tool", block
            )
        else:
            last = machine.pockets
            beside = {number % last + 1, (number - 2) % last + 1} - {number}
            taken = [one.number for one in self.subject.operation.tools if one.number in beside]
            if taken:
                listed = " and ".join(f"T{one}" for one in taken)
                self.found(
                    block, f"is large, and {listed} is in the pocket beside it; needed: both sides empty"
                )


_ONE_T = edited(("T2\nG0 G17", "G0 G17"), ("T1\nG0 G17", "G0 G17"))
_ONE_POCKET = replace(UMBRELLA, pockets=1)
_WIDE = replace(SHEET, tools=(replace(SHEET.tools[0], diameter=4.0), SHEET.tools[1]))
_LARGE = replace(SHEET, tools=(replace(SHEET.tools[0], large=True), SHEET.tools[1]))

RULES = (
    Rule(
        name="no-such-pocket",
        severity=REFUSE,
        what="On an umbrella changer no tool number is above the number of pockets.",
        reason="There is no such pocket: the control stops, or the magazine turns to another one.",
        remedy="give the tool a number the magazine has, in program and sheet",
        watch=NoSuchPocket,
        example=Example(trips=_ONE_T, clean=_ONE_T, sheet=SHEET, machine=UMBRELLA, trips_machine=_ONE_POCKET),
    ),
    Rule(
        name="large-not-marked",
        severity=REFUSE,
        what="A tool wider than the machine's large_tool_over is marked large on the setup sheet.",
        reason="In a full magazine it strikes the tools beside it while the magazine turns.",
        remedy="write large = true at the tool, keep the pockets beside it empty",
        watch=LargeNotMarked,
        example=Example(
            trips=MILLING,
            clean=MILLING,
            sheet=SHEET,
            trips_sheet=_WIDE,
            machine=MILL,
            also=("comp-lead-in-short",),
        ),
    ),
    Rule(
        name="large-beside",
        severity=REFUSE,
        what="On an umbrella changer the pockets beside a large tool hold no tool of the sheet.",
        reason="Two tools side by side touch while the magazine turns.",
        remedy="move the tool beside it to another pocket, in program and sheet",
        watch=LargeBeside,
        example=Example(trips=_ONE_T, clean=_ONE_T, sheet=SHEET, trips_sheet=_LARGE, machine=UMBRELLA),
    ),
)
