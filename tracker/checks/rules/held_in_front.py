"""Stock that stands far out of the jaws with nothing holding its other end."""

from dataclasses import replace

from tracker.checks.examples_turning import LATHE as LATHE1
from tracker.checks.examples_turning import TURNING, TURNING_SHEET
from tracker.checks.finding import WARN
from tracker.checks.rule import LATHE, Example, Rule
from tracker.checks.rules.header import first_line
from tracker.checks.watch import Watch, fig
from tracker.machining.control import Control
from tracker.records.job import Stock

_TIMES = 3.0


class StockUnsteadied(Watch):
    """Asked of the sheet; shown at the first line of the program."""

    def begin(self, control: Control) -> None:
        """How far it stands out, in diameters."""
        stock = self.subject.operation.stock
        if stock is None or stock.out_of_jaws is None:
            self.unknown("out_of_jaws is not stated on the setup sheet")
        elif stock.steadied:
            return
        elif stock.diameter is None:
            self.unknown("diameter of the stock is not stated on the setup sheet")
        elif stock.out_of_jaws > _TIMES * stock.diameter + 1e-9:
            most = _TIMES * stock.diameter
            at, text = first_line(self.subject.main)
            self.found_at(
                self.subject.main.path,
                at,
                text,
                f"the stock stands {fig(stock.out_of_jaws)} out of the jaws, at a diameter of {fig(stock.diameter)} "
                f"needed no more than {fig(most)} without a centre or a steady, {fig(stock.out_of_jaws - most)} too far",
            )


_LONG = replace(
    TURNING_SHEET,
    stock=Stock(top=1.0, out_of_jaws=130.0, bar_past_spindle=0.0, supported=True, diameter=40.0),
)

RULES = (
    Rule(
        name="stock-unsteadied",
        severity=WARN,
        what="Stock stands out of the jaws no farther than three times its diameter, or is steadied in front.",
        reason="Long stock bends away from the tool, chatters, climbs on it, and is thrown out of the chuck.",
        remedy="hold it shorter, or with a centre or a steady rest and write steadied = true in stock",
        machines=LATHE,
        follows=False,
        watch=StockUnsteadied,
        example=Example(trips=TURNING, clean=TURNING, sheet=TURNING_SHEET, trips_sheet=_LONG, machine=LATHE1),
    ),
)
