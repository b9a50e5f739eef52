"""Rapids against the sheet's clearance height and the top of the stock."""

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE, WARN
from tracker.checks.rule import Example, Rule
from tracker.checks.trail import CYCLES, is_work
from tracker.checks.watch import Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import RAPID, Block, Move

_RAPID = "G0"


class Heights(Watch):
    """What rules about Z ask first: the clearance of the sheet, and that Z is the Z of the work."""

    def begin(self, control: Control) -> None:
        """No height without a figure for it."""
        self.stated = self.subject.operation.clearance_z
        if self.stated is None:
            self.unknown("clearance_z is not stated on the setup sheet")

    def clearance(self, block: Block, control: Control) -> float | None:
        """The lowest Z for rapids in X and Y, in the units of the run; None where it cannot be compared."""
        if self.stated is None or self.shifted(block, control):
            return None
        return self.of_sheet(self.stated, control)

    def shifted(self, block: Block, control: Control) -> bool:
        """Whether Z as programmed is not Z of the work offset; said where it is so."""
        if control.local[2] or control.moved[2]:
            self.unknown("Z is shifted by G52 or G92", block)
            return True
        return False


class RapidDownAcross(Heights):
    """X or Y and Z in one rapid that ends below the clearance."""

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A rapid of its own, not one of a cycle."""
        if move.code != _RAPID or not is_work(move) or "Z" not in self.trail.words or not across(move):
            return
        clear = self.clearance(block, control)
        z = move.end[2]
        if clear is not None and z is not None and z < clear:
            self.found(
                block,
                f"a rapid in X Y and Z ends at Z{fig(z)}, clearance {fig(clear)}, {fig(clear - z)} too low",
            )


class RapidAcrossLow(Heights):
    """X or Y at rapid below the clearance."""

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A rapid of its own; one that goes down in the same block is another rule's."""
        if move.code != _RAPID or not is_work(move) or not across(move):
            return
        levels = [z for z in (move.start[2], move.end[2]) if z is not None]
        clear = self.clearance(block, control) if levels else None
        if clear is None or min(levels) >= clear or ("Z" in self.trail.words and levels[-1] < clear):
            return
        z = min(levels)
        self.found(block, f"a rapid in X Y at Z{fig(z)}, clearance {fig(clear)}, {fig(clear - z)} too low")


class RapidNearPart(Watch):
    """Z at rapid down to less than a millimetre above the stock."""

    def begin(self, control: Control) -> None:
        """No height without a figure for it."""
        stock = self.subject.operation.stock
        self._top = stock.top if stock else None
        if self._top is None:
            self.unknown("the top of the stock is not stated on the setup sheet")

    def move(self, block: Block, move: Move, control: Control) -> None:
        """Down by itself: with X or Y it is another rule's."""
        start, z = move.start[2], move.end[2]
        if self._top is None or move.code != _RAPID or not is_work(move) or z is None or across(move):
            return
        if "Z" not in self.trail.words or (start is not None and start <= z):
            return
        if control.local[2] or control.moved[2]:
            self.unknown("Z is shifted by G52 or G92", block)
            return
        top = self.of_sheet(self._top, control)
        needed = top + self.margin(self.subject.checks.rapid_gap, control)
        if z < needed - 1e-9:
            self.found(
                block,
                f"a rapid down to Z{fig(z)}, stock top {fig(top)}, needed Z{fig(needed)} or higher, "
                f"{fig(needed - z)} too low",
            )


class ApproachLow(Heights):
    """The first move of Z of a tool against the clearance."""

    def begin(self, control: Control) -> None:
        """Nothing asked so far."""
        super().begin(control)
        self._asked = False

    def tool(self, block: Block, control: Control) -> None:
        """A tool change asks anew."""
        self._asked = False

    def move(self, block: Block, move: Move, control: Control) -> None:
        """Z under a length offset, not a cycle."""
        if self._asked or not is_work(move) or control.absolute is False:
            return
        of_cycle = move.code[1:] in CYCLES
        if "Z" not in self.trail.words and not of_cycle:
            return
        self._asked = True
        clear = self.clearance(block, control) if move.kind == RAPID and not of_cycle else None
        z = move.end[2]
        if clear is not None and z is not None and z < clear and not across(move):
            self.found(
                block, f"first Z of the tool is Z{fig(z)}, clearance {fig(clear)}, {fig(clear - z)} too low"
            )


def across(move: Move) -> bool:
    """Whether a move changes X or Y, or may: from a place that is not known."""
    return any(
        move.end[axis] is not None and (move.start[axis] is None or move.start[axis] != move.end[axis])
        for axis in (0, 1)
    )


_LEAVE = ("G0 Z1. M9\nM5\nG91 G28 Z0.\nG90\n(NO", "G0 Z{}\nX-1. Y1.\nZ1. M9\nM5\nG91 G28 Z0.\nG90\n(NO")

RULES = (
    Rule(
        name="rapid-down-across",
        severity=REFUSE,
        what="No rapid in X or Y together with Z ends below the sheet's clearance_z.",
        reason="Axes at rapid arrive one after the other: the way is bent, and may lead through part or clamp.",
        remedy="position in X and Y first, above clearance, then go down in Z alone",
        watch=RapidDownAcross,
        example=Example(
            trips=edited(("Z0.15\nG1 Z-0.1 F20.", "X-0.9 Z0.15\nG1 Z-0.1 F20.")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
        ),
    ),
    Rule(
        name="rapid-across-low",
        severity=WARN,
        what="Rapids in X and Y stay at or above the sheet's clearance_z.",
        reason="Below it stand clamps and jaws; inside a pocket it may be meant.",
        remedy="retract to clearance first, or waive it for this tool where the way is free",
        watch=RapidAcrossLow,
        example=Example(
            trips=edited((_LEAVE[0], _LEAVE[1].format("0.2"))), clean=MILLING, sheet=SHEET, machine=MILL
        ),
    ),
    Rule(
        name="rapid-near-part",
        severity=WARN,
        what="A rapid down in Z ends at least 1 mm (rapid_gap of [checks]) above the top of the stock.",
        reason="Stock stands a little higher than drawn, tools a little longer than set.",
        remedy="end the rapid higher and feed the rest, or waive it where the tool goes down into a pocket",
        watch=RapidNearPart,
        example=Example(
            trips=edited(("Z0.15\nG1 Z-0.1", "Z0.06\nG1 Z-0.1")), clean=MILLING, sheet=SHEET, machine=MILL
        ),
    ),
    Rule(
        name="approach-low",
        severity=WARN,
        what="The first move of Z of a tool, with its length offset, ends at or above the sheet's clearance_z.",
        reason="A wrong length shows there, with air below the tool, and can be stopped.",
        remedy="take the length offset at the clearance height, go down in the next block",
        watch=ApproachLow,
        example=Example(
            trips=edited(("G43 H2 Z1. M8", "G43 H2 Z0.3 M8")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
            also=("cycle-retract-low",),
        ),
    ),
)
