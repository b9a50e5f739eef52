"""Cutter compensation: begun on a straight line that is long enough, and ended before the tool goes."""

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE, WARN
from tracker.checks.rule import Example, Rule
from tracker.checks.trail import is_work
from tracker.checks.watch import Stretch, Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import ARC, Block, Move

_ON = frozenset(("G41", "G42"))
_LEAVES = frozenset(("M6", "G28", "G30", "G53", "M2", "M30"))


class _LeadIn(Watch):
    """What is asked of the first move across after G41 or G42."""

    def begin(self, control: Control) -> None:
        """None begun."""
        self._begun: str | None = None

    def block(self, block: Block, control: Control) -> None:
        """G41 or G42, where neither was in force."""
        codes = self.trail.codes
        if "G40" in codes:
            self._begun = None
        elif codes & _ON and control.radius not in ("41", "42"):
            self._begun = min(codes & _ON)

    def move(self, block: Block, move: Move, control: Control) -> None:
        """The first move that goes across."""
        if self._begun is None or not is_work(move):
            return
        if move.kind == ARC:
            self.judge_arc(block, self._begun)
            self._begun = None
            return
        across = _across(move)
        if across is None:
            self.unknown("how long the lead-in is", block)
            self._begun = None
        elif across:
            self.judge_line(block, self._begun, across, control)
            self._begun = None

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """A lead-in on a plain line: its length is known where it is known alone."""
        if self._begun is None:
            return
        self.unknown("the lead-in is one of a row of plain lines", stretch.first)
        self._begun = None

    def judge_arc(self, block: Block, code: str) -> None:
        """Begun on an arc."""

    def judge_line(self, block: Block, code: str, length: float, control: Control) -> None:
        """Begun on a line."""


class LeadInArc(_LeadIn):
    """G41 or G42 that begins on an arc."""

    def judge_arc(self, block: Block, code: str) -> None:
        """An arc has no room for it."""
        self.found(block, f"{code} begins on an arc; needed: a straight line")


class LeadInShort(_LeadIn):
    """A lead-in shorter than the tool's radius."""

    def judge_line(self, block: Block, code: str, length: float, control: Control) -> None:
        """Against the sheet's diameter."""
        tool = self.subject.tool(self.trail.tool)
        if tool is None or tool.diameter is None:
            self.unknown(f"diameter of T{self.trail.tool} is not stated", block)
            return
        radius = self.of_sheet(tool.diameter / 2, control)
        if length < radius - 1e-9:
            self.found(
                block,
                f"{code} begins on a line of {fig(length)}, radius of the tool {fig(radius)}, "
                f"{fig(radius - length)} too short",
            )


class CompLeftOn(Watch):
    """G41 or G42 in force where the tool goes: a change, a home return, the end, which takes it off by itself."""

    def begin(self, control: Control) -> None:
        """Nothing told so far."""
        self._told = False

    def block(self, block: Block, control: Control) -> None:
        """Asked before the block acts."""
        codes = self.trail.codes
        if control.radius not in ("41", "42"):
            self._told = False
            return
        if self._told:
            return
        at = codes & _LEAVES
        if at and "G40" not in codes:
            self._told = True
            self._tell(block, min(at), control)

    def tool(self, block: Block, control: Control) -> None:
        """A change by T alone; one with M6 was asked about before it acted."""
        if self._told or control.radius not in ("41", "42") or self.trail.codes & {"M6", "G40"}:
            return
        self._told = True
        self._tell(block, f"the change to T{control.tool}", control)

    def _tell(self, block: Block, where: str, control: Control) -> None:
        self.found(block, f"G{control.radius} is still in force at {where}; needed: G40 before it")


def _across(move: Move) -> float | None:
    """How far a move goes in X and Y; None if not known."""
    gone = 0.0
    for axis in (0, 1):
        start, end = move.start[axis], move.end[axis]
        if start is None and end is None:
            continue
        if start is None or end is None:
            return None
        gone += (end - start) ** 2
    return float(gone**0.5)


RULES = (
    Rule(
        name="comp-on-arc",
        severity=REFUSE,
        what="G41 and G42 begin on a straight line.",
        reason="The control stops with an alarm, or cuts into the wall.",
        remedy="put a straight line before the arc, with G41 or G42 on it",
        source="NISTIR 6556 section 3.5.10.1 for the straight line; common practice",
        watch=LeadInArc,
        example=Example(
            trips=edited(("G41 D1 X0. F40.", "G41 D1 G3 X0. Y2. J1. F40."), ("X2.\nY2.", "G1 X2.\nY2.")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
        ),
    ),
    Rule(
        name="comp-lead-in-short",
        severity=WARN,
        what="The line on which G41 or G42 begins is as long as the tool's radius.",
        reason="Where D holds the radius the control stops, or the tool swings into the part.",
        remedy="begin farther out; waive it where D holds wear only and the path is the tool's centre",
        watch=LeadInShort,
        example=Example(
            trips=edited(("G41 D1 X0. F40.", "G41 D1 X-0.9 F40.\nG1 X0.")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
        ),
    ),
    Rule(
        name="comp-left-on",
        severity=REFUSE,
        what="G40 ends G41 or G42 before a tool change, a home return and the end of the program.",
        reason="The retract is shifted aside, or the next tool begins with the offset of this one.",
        remedy="write G40 on a straight line out of the cut",
        watch=CompLeftOn,
        example=Example(trips=edited(("G40 X3.", "X3.")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
)
