"""Travel: whether the program's extent fits the machine, wherever its zero is set."""

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import WARN
from tracker.checks.rule import Example, Rule
from tracker.checks.trail import is_work
from tracker.checks.watch import Stretch, Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move

_AXES = ("X", "Y")


class _Extent:
    """Least and greatest coordinate of an axis under one work offset, and the block of the last that widened it."""

    def __init__(self, value: float, block: Block) -> None:
        self.low = self.high = value
        self.block = block

    def widen(self, value: float, block: Block) -> None:
        if value < self.low:
            self.low, self.block = value, block
        elif value > self.high:
            self.high, self.block = value, block


class TravelShort(Watch):
    """X and Y extents of each work offset against the travel; Z hangs on tool lengths and is not looked at."""

    def begin(self, control: Control) -> None:
        """Nothing met so far."""
        self._met: dict[tuple[int, str | None], _Extent] = {}

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A move in the work."""
        if is_work(move):
            for axis in range(2):
                for value in self.trail.reach(move, axis, control):
                    self._note(axis, value, block, control)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        for axis in range(2):
            self._note(axis, stretch.low[axis], stretch.last, control)
            self._note(axis, stretch.high[axis], stretch.last, control)

    def _note(self, axis: int, value: float | None, block: Block, control: Control) -> None:
        if value is None:
            return
        key = (axis, control.offset)
        if key in self._met:
            self._met[key].widen(value, block)
        else:
            self._met[key] = _Extent(value, block)

    def end(self, control: Control) -> None:
        """Each axis under each offset."""
        machine = self.subject.machine
        travel = machine.travel if machine else None
        gap = self.margin(self.subject.checks.travel_gap, control)
        for (axis, offset), extent in self._met.items():
            ends = None if travel is None else (travel.x, travel.y)[axis]
            if ends is None:
                whose = f"travel of {machine.id} in {_AXES[axis]}" if machine else "no machine: its travel"
                self.unknown(f"{whose} is not {'stated' if machine else 'known'}")
                continue
            has = self.of_machine(ends[1] - ends[0], control)
            span = extent.high - extent.low
            if span > has - gap + 1e-9:
                under = f" under {offset}" if offset else ""
                self.found(
                    extent.block,
                    f"{_AXES[axis]} runs from {fig(extent.low)} to {fig(extent.high)}{under}, {fig(span)} in all, "
                    f"travel {fig(has)} with {fig(gap)} to spare, {fig(span - has + gap)} too far",
                )


RULES = (
    Rule(
        name="travel-short",
        severity=WARN,
        what="What a program runs through in X and in Y fits the machine's travel, with the shop's margin.",
        reason="Wherever the zero is set, the axis runs into its limit in the middle of the part.",
        remedy="split the part over two setups, or put a lost sign or point right",
        watch=TravelShort,
        example=Example(trips=edited(("X2.\nY2.", "X32.\nY2.")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
)
