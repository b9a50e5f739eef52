"""A probe is used with the spindle standing."""

from dataclasses import replace

from tracker.checks.examples import MILL, SHEET, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import Example, Rule
from tracker.checks.standing import is_probe
from tracker.checks.trail import is_cut
from tracker.checks.watch import Stretch, Watch
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move

_STARTS = frozenset(("M3", "M4", "M13", "M14"))
_STOPS = frozenset(("M5", "M19"))


class ProbeTurning(Watch):
    """A feed move of a probe behind an M3 that no M5 took back; the change itself stops the spindle."""

    def begin(self, control: Control) -> None:
        """Nothing turns."""
        self._turns = self._told = False

    def tool(self, block: Block, control: Control) -> None:
        """A tool change stops it."""
        self._turns = self._told = False

    def acted(self, block: Block, control: Control) -> None:
        """M codes of the block."""
        codes = self.trail.codes
        if codes & _STOPS:
            self._turns = False
        elif codes & _STARTS:
            self._turns = True

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A feed move; the spindle starts before its block moves, and M5 acts after it."""
        if is_cut(move):
            self._judge(block, starts=bool(self.trail.codes & _STARTS))

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Moves with a feed."""
        self._judge(stretch.first, starts=False)

    def _judge(self, block: Block, *, starts: bool) -> None:
        if self._told or not (self._turns or starts):
            return
        tool = self.subject.tool(self.trail.tool)
        if is_probe(tool, self.trail.change):
            self._told = True
            self.found(
                block, "a probe is fed with the spindle started, needed: spindle standing, M5 before it"
            )


_PROBED = edited(
    ("(NO. 7 DRILL)", "(PROBE)"),
    (" S4000 M3\nG43 H2 Z1. M8", "\nG43 H2 Z1."),
    ("G98 G81 X1. Y1. Z-0.5 R0.1 F12.\nX2.\nG80", "G1 Z0.1 F12."),
    ("G0 Z1. M9\nM5\nG91 G28 Z0.\nG28 Y0.", "G0 Z1.\nG91 G28 Z0.\nG28 Y0."),
)
_SHEET = replace(
    SHEET,
    tools=(SHEET.tools[0], replace(SHEET.tools[1], description="PROBE 6MM BALL")),
)

RULES = (
    Rule(
        name="probe-turning",
        severity=REFUSE,
        what="A probe is fed only while the spindle stands: no M3 or M4 since its change that no M5 took back.",
        reason="A probe that turns is torn to pieces, and its cable or battery thrown out.",
        remedy="write M5 before the first feed move of the probe, or take its M3 out",
        watch=ProbeTurning,
        example=Example(
            trips=edited(("G43 H2 Z1.\n", "G43 H2 Z1. S500 M3\n"), text=_PROBED),
            clean=_PROBED,
            sheet=_SHEET,
            machine=MILL,
        ),
    ),
)
