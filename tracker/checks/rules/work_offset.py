"""Work offsets: one is stated, it is the sheet's, each tool states it again, and who writes into them is told."""

from dataclasses import replace

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import INFO, REFUSE, WARN
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.trail import AXES, is_work
from tracker.checks.watch import Stretch, Watch
from tracker.machining.control import Control
from tracker.machining.watch import Block, Event, Move
from tracker.records.job import Offset

_CODES = frozenset(("G54", "G54.1", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"))
_FIRST = frozenset(("G52", "G92"))


class _InTheWork(Watch):
    """What is asked of the first absolute move in the work, again after each tool change."""

    def begin(self, control: Control) -> None:
        """Nothing asked so far."""
        self._asked = False

    def tool(self, block: Block, control: Control) -> None:
        """A tool change asks anew."""
        self._asked = False

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A move in the work."""
        if not self._asked and is_work(move):
            self._ask(block, control)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        if not self._asked:
            self._ask(stretch.first, control)

    def _ask(self, block: Block, control: Control) -> None:
        if control.absolute is not False:
            self._asked = True
            self.judge(block, control)

    def judge(self, block: Block, control: Control) -> None:
        """Ask."""


class NoWorkOffset(_InTheWork):
    """No offset was stated at all."""

    def judge(self, block: Block, control: Control) -> None:
        """Whatever was in force from the job before would count.

        On a lathe whose sheet names none the zero may stand in the tools' offsets alone.
        """
        if control.lathe and not self.subject.operation.offsets:
            self.unknown(
                "a lathe, and no work offset on its sheet: the zero may lie in the tools' offsets", block
            )
        elif control.offset is None:
            self.absent(
                block, "a move in the work with no work offset stated; found none, needed one of the sheet's"
            )


class OffsetNotRestated(_InTheWork):
    """A tool that relies on the offset of the tool before."""

    def judge(self, block: Block, control: Control) -> None:
        """An offset said just before the tool change counts."""
        if control.offset is not None and self.trail.changes and not self._restated(control.offset):
            self.absent(block, f"starts with {control.offset} of an earlier tool, needed: stated again")

    def _restated(self, offset: str) -> bool:
        """G54.1 P3 and its like are said by their G word."""
        return bool(self.trail.restated & (_CODES | {offset.partition(" ")[0]}))


class OffsetNotOnSheet(Watch):
    """An offset moves are made in against those of the sheet."""

    def begin(self, control: Control) -> None:
        """What the sheet states."""
        self._known = {one.code for one in self.subject.operation.offsets}
        self._told: set[str] = set()
        if not self._known:
            self.unknown("no work offset is stated on the setup sheet")

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A move in the work."""
        if is_work(move):
            self._judge(block, control)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        self._judge(stretch.first, control)

    def _judge(self, block: Block, control: Control) -> None:
        used = control.offset
        if used is None or not self._known or used in self._known or used in self._told:
            return
        self._told.add(used)
        self.found(block, f"moves in {used}, on the setup sheet: {', '.join(sorted(self._known))}")


class WritesOffsets(Watch):
    """Blocks that write into offsets or shift the zero."""

    def acted(self, block: Block, control: Control) -> None:
        """G52 and G92 with axes, unless all of a G52 are 0, which takes its shift back; G10 says so itself."""
        codes, words = self.trail.codes & _FIRST, self.trail.words
        if "G92" in codes and control.lathe:
            return
        figures = [words[letter].number for letter in AXES & words.keys()]
        if codes and any(figure.strip("+-0.") or "G92" in codes for figure in figures):
            self.found(block, f"{min(codes)} shifts the zero of the work: {block.text.strip()}")

    def event(self, block: Block, event: Event, control: Control) -> None:
        """An offset is written, by G10 or by way of a variable it lies in."""
        if event.what == "offset-written" and ("G10" in self.trail.codes or event.value.startswith("#")):
            self.found(block, f"writes an offset: {event.value.strip()}")


_TWO = replace(SHEET, offsets=(Offset(code="G54"), Offset(code="G55")))

RULES = (
    Rule(
        name="no-work-offset",
        severity=REFUSE,
        what="A work offset is stated before the first move in the work.",
        reason="Else the one that happens to be in force counts, which may be that of the job before.",
        remedy="write the sheet's work offset in the first block of each tool",
        machines=ANY,
        watch=NoWorkOffset,
        example=Example(trips=edited(("G54 X-1.", "X-1.")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="offset-not-on-sheet",
        severity=REFUSE,
        what="Moves are made in work offsets of the setup sheet only.",
        reason="An offset nobody set for this job holds figures of another one.",
        remedy="put the program's work offset right, or add it to the sheet with its origin",
        machines=ANY,
        watch=OffsetNotOnSheet,
        example=Example(
            trips=edited(("G54 X1. Y1. S4000", "G55 X1. Y1. S4000")), clean=MILLING, sheet=SHEET, machine=MILL
        ),
    ),
    Rule(
        name="offset-not-restated",
        severity=WARN,
        what="Every tool states its work offset again.",
        reason="Started at this tool, the offset of whatever ran before would count.",
        remedy="write the work offset in the first block of the tool",
        watch=OffsetNotRestated,
        example=Example(
            trips=edited(("G54 X1. Y1. S4000", "X1. Y1. S4000")),
            clean=edited(("G54 X1. Y1. S4000", "G55 X1. Y1. S4000")),
            sheet=_TWO,
            machine=MILL,
            also=("sheet-offset-unused",),
        ),
    ),
    Rule(
        name="writes-offsets",
        severity=INFO,
        what="Blocks that write offsets (G10, #5221 and the like) or shift the zero (G52, G92) are listed.",
        reason="What they leave behind counts for the next job too; figures of Z and travel are not computed under them.",
        remedy="see that it is meant, and that it is taken back at the end",
        machines=ANY,
        watch=WritesOffsets,
        example=Example(
            trips=edited(("M5\nG91 G28 Z0.\nG28 Y0.", "M5\nG10 L2 P1 Z-0.01\nG91 G28 Z0.\nG28 Y0.")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
        ),
    ),
)
