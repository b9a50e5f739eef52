"""The setup sheet's lists against the program, both ways: tools and work offsets."""

from dataclasses import replace

from tracker.checks.examples import MILL, MILLING, SHEET
from tracker.checks.finding import REFUSE, WARN
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.spans import bare, lines_of
from tracker.checks.watch import Watch
from tracker.machining.control import Control
from tracker.machining.watch import Block
from tracker.records.job import Offset, Tool


class _Listed(Watch):
    """What is common: the line a finding about the whole program is shown at."""

    def about_program(self, message: str) -> None:
        """A finding at the first line of the main program that holds anything."""
        main = self.subject.main
        lines = lines_of(main.data)
        at = next((place for place, line in enumerate(lines, 1) if bare(line) not in ("", "%")), 1)
        self.found_at(main.path, at, lines[at - 1], message)


class ToolNotOnSheet(Watch):
    """A tool comes into the spindle that the sheet does not list."""

    def begin(self, control: Control) -> None:
        """Nothing told so far."""
        self._told: set[int] = set()

    def tool(self, block: Block, control: Control) -> None:
        """A change; T0 puts the tool away."""
        number = self.trail.tool
        if not number or number in self._told:
            return
        if not self.subject.operation.tools:
            self.unknown("the setup sheet lists no tools", block)
        elif self.subject.tool(number) is None:
            self._told.add(number)
            listed = ", ".join(f"T{one.number}" for one in self.subject.operation.tools)
            self.found(block, f"is not on the setup sheet, which lists {listed}")


class SheetToolUnused(_Listed):
    """A tool of the sheet the program never changes to."""

    def begin(self, control: Control) -> None:
        """Nothing met so far."""
        self._met: set[int] = set()
        self._used = 0

    def tool(self, block: Block, control: Control) -> None:
        """A change."""
        self._met.add(self.trail.tool or 0)

    def end(self, control: Control) -> None:
        """A program without any change uses whatever is in the spindle; behind a call not followed nobody can say."""
        if not self._met or self.trail.ever_blind is not None:
            return
        for tool in self.subject.operation.tools:
            if tool.number not in self._met:
                self.about_program(
                    f"T{tool.number} is on the setup sheet and the program never changes to it"
                )


class SheetOffsetUnused(_Listed):
    """A work offset of the sheet the program never names."""

    def begin(self, control: Control) -> None:
        """Nothing met so far."""
        self._met: set[str] = set()

    def acted(self, block: Block, control: Control) -> None:
        """What is in force after a block that is not a plain one."""
        if control.offset is not None:
            self._met.add(_plain(control.offset))

    def end(self, control: Control) -> None:
        """Only where offsets are named at all."""
        if not self._met or self.trail.ever_blind is not None:
            return
        for offset in self.subject.operation.offsets:
            if _plain(offset.code) not in self._met:
                self.about_program(f"{offset.code} is on the setup sheet and the program never names it")


def _plain(code: str) -> str:
    """``G54.1 P5`` and ``G54.1P05`` are one."""
    head, _, number = code.upper().replace(" ", "").partition("P")
    return f"{head}P{int(number)}" if number.isdigit() else head


_MORE = replace(SHEET, tools=(*SHEET.tools, Tool(number=7, description="SPARE", stick_out=2.0)))

RULES = (
    Rule(
        name="tool-not-on-sheet",
        severity=REFUSE,
        what="Every tool the program changes to is on the setup sheet.",
        reason="Nobody sets or measures a tool the sheet does not name: whatever is in the pocket cuts.",
        remedy="list the tool under [[operations.tools]], or put the T in the program right",
        machines=ANY,
        watch=ToolNotOnSheet,
        example=Example(
            trips=MILLING,
            clean=MILLING,
            sheet=SHEET,
            trips_sheet=replace(SHEET, tools=SHEET.tools[:1]),
            machine=MILL,
        ),
    ),
    Rule(
        name="sheet-tool-unused",
        severity=WARN,
        what="Every tool of the setup sheet is used by the program.",
        reason="A tool section fell out of the program, or a tool is set for nothing.",
        remedy="put the missing section back, or take the tool off the sheet",
        machines=ANY,
        watch=SheetToolUnused,
        example=Example(trips=MILLING, clean=MILLING, sheet=SHEET, trips_sheet=_MORE, machine=MILL),
    ),
    Rule(
        name="sheet-offset-unused",
        severity=WARN,
        what="Every work offset of the setup sheet is named by the program.",
        reason="A station is left out, or the sheet tells to set a zero nobody uses.",
        remedy="put the program or the sheet right",
        machines=ANY,
        watch=SheetOffsetUnused,
        example=Example(
            trips=MILLING,
            clean=MILLING,
            sheet=SHEET,
            trips_sheet=replace(SHEET, offsets=(*SHEET.offsets, Offset(code="G55"))),
            machine=MILL,
        ),
    ),
)
