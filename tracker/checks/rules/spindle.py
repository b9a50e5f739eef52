"""The spindle: running when it cuts, with a speed, and not faster than it may."""

from collections.abc import Set as AbstractSet

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.standing import is_broach, is_probe
from tracker.checks.trail import is_cut
from tracker.checks.watch import Stretch, Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move

_TURNING = frozenset(("3", "4"))
_TAPPING = frozenset(("G74", "G84"))
_RIGID = frozenset(("M29", "M135"))
_PROBING = ("G31", "G36", "G37", "G38")
_PLAIN_M = frozenset(f"M{code}" for code in (*range(6), *range(7, 10), 30, 41, 42, 43, 44, 97, 98, 99))
_WITH_COOLANT = frozenset(("M13", "M14"))
_STARTS = _WITH_COOLANT | {"M3", "M4"}
# an S that is no speed of the spindle
_OTHER_S = frozenset(("G4", "G50", "G92", "G96", "M19", "G65", "G66"))


class NoSpindle(Watch):
    """A feed move with the spindle standing still; told once a tool."""

    def begin(self, control: Control) -> None:
        """Nothing told so far."""
        self._told = False
        self._otherwise = False
        self._oriented = False

    def tool(self, block: Block, control: Control) -> None:
        """Each tool by itself."""
        self._told = self._otherwise = self._oriented = False

    def acted(self, block: Block, control: Control) -> None:
        """M13 and M14 start the spindle too, with coolant; M19 stops it where it stands, until it is started again."""
        codes = self.trail.codes
        if codes & _STARTS:
            self._oriented = False
        elif "M19" in codes:
            self._oriented = True
        if codes & _WITH_COOLANT:
            self._otherwise = True
        elif codes & {"M5", "M19"}:
            self._otherwise = False

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A feed move that is no probing, and no tapping that starts the spindle itself."""
        if self._told or not is_cut(move) or move.code.startswith(_PROBING):
            return
        if move.code in _TAPPING and self.trail.restated & _RIGID:
            return
        self._judge(block, control, taps=move.code in _TAPPING)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        if not self._told:
            self._judge(stretch.first, control)

    def _judge(self, block: Block, control: Control, *, taps: bool = False) -> None:
        if (control.spindle in _TURNING and not self._oriented) or self._otherwise:
            return
        trail = self.trail
        tool = self.subject.tool(trail.tool)
        if is_probe(tool, trail.change) or is_broach(tool, trail.change):
            return
        if control.lathe and self._driven():
            self.unknown("a driven tool, or a bar that is pulled, may want the spindle to stand", block)
        elif taps and "S" in trail.since:
            self.unknown(
                "a tapping cycle with no M3 before it: some controls start the spindle with it", block
            )
        elif "M19" in trail.since:
            self.unknown("after M19 the spindle may be meant to stand", block)
        else:
            self._told = True
            state = "the spindle standing still" if control.spindle == "5" else "no M3 or M4 so far"
            self.absent(block, f"a feed move with {state}, needed: spindle running")

    def _driven(self) -> bool:
        """On a lathe: the spindle was stopped in so many words, or an M code of the builder's stands with an S."""
        return bool(_builders(self.trail.since)) or "M5" in self.trail.since


def _builders(codes: AbstractSet[str]) -> set[str]:
    """M words whose meaning is the builder's."""
    return {code for code in codes if code[0] == "M" and code[1:]} - _PLAIN_M


class NoSpeed(Watch):
    """M3 or M4 with no S."""

    def begin(self, control: Control) -> None:
        """No S so far."""
        self._stated = False

    def acted(self, block: Block, control: Control) -> None:
        """The block that starts the spindle has its own S by now."""
        trail = self.trail
        self._stated |= "S" in trail.words and not trail.codes & {"G4", "G50", "G92"}
        if not trail.codes & {"M3", "M4"}:
            return
        if control.speed is None and self._stated:
            self.unknown("an S by variable, or none since G96 or G97", block)
        elif not control.speed:
            found = "S0" if control.speed == 0 else "no S"
            self.absent(block, f"the spindle is started with {found} so far, needed: S above 0")


class SpeedOverLimit(Watch):
    """S against the machine's highest speed and the sheet's."""

    def begin(self, control: Control) -> None:
        """What may not be exceeded, and by whose word."""
        machine, sheet = self.subject.machine, self.subject.operation.max_rpm
        limits = [(sheet, "setup sheet")] if sheet is not None else []
        if machine is not None and machine.max_rpm is not None:
            limits.append((machine.max_rpm, machine.id))
        if machine is not None and control.lathe and machine.chuck_max_rpm is not None:
            limits.append((machine.chuck_max_rpm, f"chuck of {machine.id}"))
        self._limit = min(limits) if limits else None
        if machine is None:
            self.unknown("no machine: its highest speed is not known")
        elif machine.max_rpm is None:
            self.unknown(f"max_rpm of {machine.id} is not stated")

    def acted(self, block: Block, control: Control) -> None:
        """A block that names S as a speed per minute."""
        trail = self.trail
        if self._limit is None or "S" not in trail.words or control.surface or trail.codes & _OTHER_S:
            return
        if control.speed is None:
            self.unknown("an S by variable", block)
            return
        if control.lathe and self._may_be_driven():
            self.unknown("an S that may be a driven tool's, by an M code of the builder's", block)
            return
        limit, whose = self._limit
        if control.speed > limit:
            over = control.speed - limit
            self.found(block, f"S{fig(control.speed)}, highest {fig(limit)} ({whose}), {fig(over)} too fast")

    def _may_be_driven(self) -> bool:
        """A builder's M code and no M3 in the block, or an M5 and such a code since the change."""
        trail = self.trail
        if trail.codes & {"M3", "M4"}:
            return False
        here, since = _builders(trail.codes), _builders(trail.since)
        return bool(here or (since and "M5" in trail.since and not trail.since & {"M3", "M4"}))


RULES = (
    Rule(
        name="no-spindle",
        severity=REFUSE,
        what="The spindle runs when a feed move is made.",
        reason="A tool that stands still is pushed into the work: it breaks, or the part moves.",
        remedy="write S and M3 before the first cut of the tool",
        machines=ANY,
        watch=NoSpindle,
        example=Example(
            trips=edited(("X-1. Y1. S3000 M3", "X-1. Y1. S3000")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
            also=("safe-start",),
        ),
    ),
    Rule(
        name="no-speed",
        severity=REFUSE,
        what="An S was stated before the spindle is started, or with it.",
        reason="The spindle starts at the speed of the job before, or the control stops with an alarm.",
        remedy="write S with M3 in the first block of the tool",
        machines=ANY,
        watch=NoSpeed,
        example=Example(
            trips=edited(("X-1. Y1. S3000 M3", "X-1. Y1. M3")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
            also=("safe-start",),
        ),
    ),
    Rule(
        name="speed-over-limit",
        severity=REFUSE,
        what="S per minute is not above what machine, chuck and setup sheet allow; the least of them counts.",
        reason="A tool or a workholding that turns faster than it may comes apart.",
        remedy="lower S; the limits are max_rpm of the machine and of the operation, and chuck_max_rpm",
        machines=ANY,
        watch=SpeedOverLimit,
        example=Example(trips=edited(("S4000", "S8500")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
)
