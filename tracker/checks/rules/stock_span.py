"""How wide the cuts of a program run beside the stock: inch taken for millimetre, or the other way."""

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import Example, Rule
from tracker.checks.trail import is_cut, is_work
from tracker.checks.watch import Stretch, Watch, fig
from tracker.frozen import replace
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move
from tracker.records.job import Stock
from tracker.records.shop import Travel

_AXES = ("X", "Y")


class SpanNotStock(Watch):
    """What the cuts run through in X and in Y against the stock: 20 to 30 times as much, or as little.

    As much is told of one axis; as little of both, for a pocket in a plate may well be that small in one.
    """

    def begin(self, control: Control) -> None:
        """Nothing met so far."""
        self._low: list[float | None] = [None, None]
        self._high: list[float | None] = [None, None]
        self._last: list[Block | None] = [None, None]

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A cut in the work, from where it begins."""
        if is_work(move) and is_cut(move):
            for axis in range(2):
                for value in (move.start[axis], *self.trail.reach(move, axis, control)):
                    self._note(axis, value, block)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        for axis in range(2):
            self._note(axis, stretch.low[axis], stretch.last)
            self._note(axis, stretch.high[axis], stretch.last)

    def _note(self, axis: int, value: float | None, block: Block) -> None:
        if value is None:
            return
        low, high = self._low[axis], self._high[axis]
        if low is None or value < low:
            self._low[axis], self._last[axis] = value, block
        if high is None or value > high:
            self._high[axis], self._last[axis] = value, block

    def end(self, control: Control) -> None:
        """Both axes."""
        stock = self.subject.operation.stock or Stock()
        ratios: list[float | None] = []
        for axis, ends in enumerate((stock.x, stock.y)):
            low, high = self._low[axis], self._high[axis]
            if low is None or high is None:
                continue
            if ends is None:
                self.unknown("x and y of the stock are not stated on the setup sheet")
                ratios.append(None)
                continue
            has, span = self.of_sheet(ends[1] - ends[0], control), high - low
            ratios.append(span / has)
            least, most = self.subject.checks.units_ratio
            if least <= span / has <= most:
                self._found(axis, span, has, f"{fig(span / has)} times as wide")
        self._both(ratios, stock, control)

    def _both(self, ratios: list[float | None], stock: Stock, control: Control) -> None:
        least, most = self.subject.checks.units_ratio
        narrow = [ratio for ratio in ratios if ratio is not None and 1 / most <= ratio <= 1 / least]
        if len(narrow) == 2 and stock.x is not None:
            span = (self._high[0] or 0.0) - (self._low[0] or 0.0)
            has = self.of_sheet(stock.x[1] - stock.x[0], control)
            self._found(0, span, has, f"{fig(has / span)} times narrower, and Y is too")

    def _found(self, axis: int, span: float, has: float, how: str) -> None:
        block = self._last[axis]
        self.found(
            block,
            f"the cuts run through {fig(span)} in {_AXES[axis]}, the stock is {fig(has)}: {how}; "
            "inch and mm are 25.4 apart",
        )


RULES = (
    Rule(
        name="span-not-stock",
        severity=REFUSE,
        what="The cuts are not some 25 times as wide as the stock, nor as narrow (units_ratio of [checks]).",
        reason="A text in mm run as inch leaves the part at once, in rapid, and takes clamps and vice with it.",
        remedy="put G20 or G21, or the units the text was posted in, right",
        watch=SpanNotStock,
        example=Example(
            trips=edited(("X2.\nY2.", "X145.\nY2.")),
            clean=MILLING,
            sheet=SHEET,
            machine=replace(MILL, travel=Travel(x=(-300.0, 0.0), y=(-300.0, 0.0), z=(-20.0, 0.0))),
        ),
    ),
)
