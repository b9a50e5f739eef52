"""Bar and jaws: a bar behind the spindle is supported, and no tool goes into the jaws."""

from dataclasses import replace

from tracker.checks.examples import edited
from tracker.checks.examples_turning import LATHE as LATHE1
from tracker.checks.examples_turning import TURNING, TURNING_SHEET
from tracker.checks.finding import REFUSE
from tracker.checks.rule import LATHE, Example, Rule
from tracker.checks.spans import bare, lines_of
from tracker.checks.trail import is_work
from tracker.checks.watch import Stretch, Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move
from tracker.records.job import Stock


class BarUnsupported(Watch):
    """Asked of the sheet; shown at the first line of the program."""

    def begin(self, control: Control) -> None:
        """How far the bar stands out behind, and whether something holds it there."""
        stock = self.subject.operation.stock
        past = stock.bar_past_spindle if stock else None
        if stock is None or past is None:
            self.unknown("bar_past_spindle is not stated on the setup sheet")
        elif past > 0 and not stock.supported:
            main = self.subject.main
            lines = lines_of(main.data)
            at = next((place for place, line in enumerate(lines, 1) if bare(line) not in ("", "%")), 1)
            self.found_at(
                main.path,
                at,
                lines[at - 1],
                f"the bar stands {fig(past)} out behind the spindle and the sheet says no support; needed: 0, or supported",
            )


class IntoJaws(Watch):
    """The lowest Z against the jaws, which stand out_of_jaws behind the front of the stock."""

    def begin(self, control: Control) -> None:
        """Nothing met so far."""
        self._lowest: tuple[float, Block, str] | None = None

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A move in the work."""
        if is_work(move):
            self._note(block, self.trail.reach(move, 2, control)[0])

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        self._note(stretch.lowest, stretch.low[2])

    def _note(self, block: Block, z: float | None) -> None:
        if z is not None and (self._lowest is None or z < self._lowest[0]):
            self._lowest = (z, block, self.trail.path(block))

    def end(self, control: Control) -> None:
        """Against the sheet."""
        stock = self.subject.operation.stock
        if stock is None or stock.out_of_jaws is None or stock.top is None:
            self.unknown("out_of_jaws or top of the stock is not stated on the setup sheet")
            return
        if self._lowest is None:
            return
        z, block, path = self._lowest
        gap = self.margin(self.subject.checks.jaw_gap, control)
        jaws = self.of_sheet(stock.top - stock.out_of_jaws, control)
        if z < jaws + gap - 1e-9:
            self.found_at(
                path,
                block.line,
                block.text,
                f"to Z{fig(z)}, the jaws stand at Z{fig(jaws)}, with {fig(gap)} to spare {fig(jaws + gap - z)} too far",
            )


_LONG_BAR = replace(
    TURNING_SHEET, stock=Stock(top=1.0, out_of_jaws=80.0, bar_past_spindle=600.0, supported=False)
)

RULES = (
    Rule(
        name="bar-unsupported",
        severity=REFUSE,
        what="A bar that stands out behind the spindle is supported, by the word of the setup sheet.",
        reason="At speed the free end bends, whips round and strikes whoever stands there.",
        remedy="cut the bar to the spindle, or support it and write supported = true",
        machines=LATHE,
        follows=False,
        watch=BarUnsupported,
        example=Example(
            trips=TURNING, clean=TURNING, sheet=TURNING_SHEET, trips_sheet=_LONG_BAR, machine=LATHE1
        ),
    ),
    Rule(
        name="tool-into-jaws",
        severity=REFUSE,
        what="No move goes nearer to the jaws than the shop's margin, as far as the sheet tells where they stand.",
        reason="The tool runs into turning jaws.",
        remedy="hold the stock farther out and put out_of_jaws right, or put a lost point or sign right",
        machines=LATHE,
        watch=IntoJaws,
        example=Example(
            trips=edited(("Z-20.", "Z-78."), text=TURNING), clean=TURNING, sheet=TURNING_SHEET, machine=LATHE1
        ),
    ),
)
