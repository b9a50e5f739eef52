"""Drilling cycles: how they retract, what they need, and that they end."""

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE, WARN
from tracker.checks.rule import Example, Rule
from tracker.checks.rules.clearance import Heights, across
from tracker.checks.trail import CYCLES
from tracker.checks.watch import Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import RAPID, Block, Move

_CODES = frozenset(f"G{code}" for code in CYCLES)
_RETRACT = frozenset(("G98", "G99"))
_WAYS = frozenset(("G0", "G1", "G2", "G3"))
# back boring feeds upwards from an R below the part
_FROM_BELOW = "87"
_DEPTH = {17: "Z", 18: "Y", 19: "X"}


class RetractUnstated(Watch):
    """A cycle of a tool that has not said G98 or G99."""

    def begin(self, control: Control) -> None:
        """Nothing told so far."""
        self._told = False

    def tool(self, block: Block, control: Control) -> None:
        """Each tool by itself."""
        self._told = False

    def acted(self, block: Block, control: Control) -> None:
        """A block with a cycle's code."""
        cycle = self.trail.codes & _CODES
        if cycle and not self._told and not self.trail.restated & _RETRACT:
            self._told = True
            self.absent(block, f"{min(cycle)} with neither G98 nor G99 stated for this tool")


class WordsMissing(Watch):
    """A cycle that begins without R or depth."""

    def block(self, block: Block, control: Control) -> None:
        """The first of a row: words of a cycle stay while cycles follow each other."""
        cycle = self.trail.codes & _CODES
        if not cycle or control.motion in CYCLES:
            return
        planes = self.trail.codes & {"G17", "G18", "G19"}
        plane = int(min(planes)[1:]) if planes else control.plane
        needed = ["R", _DEPTH.get(plane, "Z")]
        missing = [letter for letter in needed if letter not in self.trail.words]
        if missing:
            self.absent(block, f"{min(cycle)} begins without {' and '.join(missing)}")


class DepthAboveR(Watch):
    """Depth and R of a cycle compared as written."""

    def begin(self, control: Control) -> None:
        """No cycle so far."""
        self._r: float | None = None
        self._z: float | None = None

    def acted(self, block: Block, control: Control) -> None:
        """Words of a cycle stay until it ends."""
        if control.motion not in CYCLES or control.motion == _FROM_BELOW or control.plane != 17:
            self._r = self._z = None
            return
        words = self.trail.words
        if not words.keys() & {"R", "Z"}:
            return
        self._r = self.written(words["R"], control) if "R" in words else self._r
        self._z = self.written(words["Z"], control) if "Z" in words else self._z
        if self._r is None or self._z is None:
            if "R" in words and "Z" in words:
                self.unknown("R or Z of a cycle by variable", block)
            return
        if control.absolute is False:
            if self._z > 0:
                self.found(block, f"Z{fig(self._z)} under G91 leads up from R, needed: below 0")
        elif self._z > self._r:
            self.found(block, f"Z{fig(self._z)} lies above R{fig(self._r)} by {fig(self._z - self._r)}")


class RetractLow(Heights):
    """From hole to hole below the clearance; told once a row of holes."""

    def begin(self, control: Control) -> None:
        """Nothing told so far."""
        super().begin(control)
        self._told = False

    def block(self, block: Block, control: Control) -> None:
        """A new row."""
        if self.trail.codes & (_CODES | {"G80"}):
            self._told = False

    def move(self, block: Block, move: Move, control: Control) -> None:
        """Across at rapid, inside a cycle."""
        if self._told or move.kind != RAPID or move.code not in _CODES or not across(move):
            return
        levels = [z for z in (move.start[2], move.end[2]) if z is not None]
        clear = self.clearance(block, control) if levels else None
        if clear is None or min(levels) >= clear:
            return
        self._told = True
        z = min(levels)
        how = "G99" if control.retract == "99" else "G98"
        self.found(
            block,
            f"to the hole at Z{fig(z)} ({how} in force), clearance {fig(clear)}, {fig(clear - z)} too low",
        )


class NotCancelled(Watch):
    """A cycle that is in force when something else begins."""

    def block(self, block: Block, control: Control) -> None:
        """G0 to G3, or a tool change."""
        codes = self.trail.codes
        if control.motion not in CYCLES or "G80" in codes:
            return
        others = codes & (_WAYS | {"M6"})
        if others:
            self._tell(block, min(others), control)

    def tool(self, block: Block, control: Control) -> None:
        """A change by T alone; one with M6, or with a way of its own, was asked about before it acted."""
        if control.motion in CYCLES and not self.trail.codes & (_WAYS | {"M6", "G80"}):
            self._tell(block, f"the change to T{control.tool}", control)

    def _tell(self, block: Block, where: str, control: Control) -> None:
        self.absent(block, f"G{control.motion} is still in force at {where}; found no G80 before it")


RULES = (
    Rule(
        name="cycle-retract-unstated",
        severity=WARN,
        what="Every tool that drills states G98 or G99.",
        reason="The other one, left from an earlier tool, moves between the holes at another height.",
        remedy="write G98 or G99 with the cycle",
        source="NISTIR 6556 section 3.5.20",
        watch=RetractUnstated,
        example=Example(trips=edited(("G98 G81", "G81")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="cycle-words-missing",
        severity=REFUSE,
        what="A cycle that begins has its R and its depth.",
        reason="Some controls stop, others take what is left of an earlier cycle, or 0.",
        remedy="write R and Z in the first block of the cycle",
        source="NISTIR 6556 section 3.5.16",
        watch=WordsMissing,
        example=Example(trips=edited(("Z-0.5 R0.1", "Z-0.5")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="cycle-z-above-r",
        severity=REFUSE,
        what="The depth of a cycle lies below its R.",
        reason="The hole is drilled upwards, or the control stops with an alarm; mostly a lost minus.",
        remedy="put the sign of Z or the figure of R right",
        source="NISTIR 6556 section 3.5.16",
        watch=DepthAboveR,
        example=Example(trips=edited(("Z-0.5 R0.1", "Z0.5 R0.1")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="cycle-retract-low",
        severity=WARN,
        what="From hole to hole a cycle moves at or above the sheet's clearance_z.",
        reason="Under G99 it goes at the height of R, under G98 at that before the cycle: clamps may stand higher.",
        remedy="write G98 with a start above clearance, or waive it where nothing stands between the holes",
        source="NISTIR 6556 section 3.5.20; the height is the sheet's",
        watch=RetractLow,
        example=Example(trips=edited(("G98 G81", "G99 G81")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="cycle-not-cancelled",
        severity=WARN,
        what="G80 ends a cycle before the next G0 to G3 and before a tool change.",
        reason="On some controls the next position is drilled as well.",
        remedy="write G80 after the last hole",
        watch=NotCancelled,
        example=Example(
            trips=edited(("X2.\nG80\nG0 Z1. M9", "X2.\nG0 Z1. M9")), clean=MILLING, sheet=SHEET, machine=MILL
        ),
    ),
)
