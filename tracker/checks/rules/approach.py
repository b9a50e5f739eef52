"""How a tool starts: everything it relies on is stated again, so that a start at this tool is whole."""

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import WARN
from tracker.checks.rule import Example, Rule
from tracker.checks.standing import is_broach, is_probe
from tracker.checks.trail import is_cut
from tracker.checks.watch import Stretch, Watch
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move

_PLANES = frozenset(("G17", "G18", "G19"))
_STARTS = frozenset(("M3", "M4", "M13", "M14", "M29", "M135"))
# a cut of a cycle has its G80 before its code
_TAPPING = frozenset(("G74", "G84"))
_WANTED = (
    ("G90", frozenset(("G90", "G91"))),
    ("G17", _PLANES),
    ("G40", frozenset(("G40",))),
    ("G80", frozenset(("G80",))),
)


class SafeStart(Watch):
    """What a tool has stated when it first cuts."""

    def begin(self, control: Control) -> None:
        """Before the first tool change nothing is asked."""
        self._asked = True

    def tool(self, block: Block, control: Control) -> None:
        """A tool change asks."""
        self._asked = False

    def move(self, block: Block, move: Move, control: Control) -> None:
        """The first cut."""
        if not self._asked and is_cut(move):
            self._judge(block, taps=move.code in _TAPPING)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """The first cut, in a row."""
        if not self._asked:
            self._judge(stretch.first)

    def _judge(self, block: Block, *, taps: bool = False) -> None:
        """A tapping cycle may start the spindle itself; a probe, a broach, a tool under M19 want it to stand."""
        self._asked = True
        trail = self.trail
        missing = [name for name, codes in _WANTED if not trail.restated & codes]
        tool = self.subject.tool(trail.tool)
        stands = "M19" in trail.since or is_probe(tool, trail.change) or is_broach(tool, trail.change)
        if "S" not in trail.since and not stands:
            missing.append("S")
        if not trail.since & _STARTS and not stands and not taps:
            missing.append("M3")
        change = trail.change
        if missing and change is not None:
            self.absent(
                change,
                f"cuts at line {block.line} without stating {', '.join(missing)} since its tool change",
            )


RULES = (
    Rule(
        name="safe-start",
        severity=WARN,
        what="Each tool states G90, plane, G40, G80, S and M3 again before its first cut.",
        reason="Started at this tool after a stop, the control does not build up what was in force: it takes what is left.",
        remedy="write G17 G40 G80 G90, work offset, S and M3 in the first block of each tool",
        source="trade articles on restarting a program",
        watch=SafeStart,
        example=Example(
            trips=edited(("G0 G17 G40 G80 G90 G54 X1.", "G0 G17 G90 G54 X1.")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
        ),
    ),
)
