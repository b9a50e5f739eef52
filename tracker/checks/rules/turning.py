"""Lathes: the offset of a tool, the limit of constant surface speed, the centre."""

from tracker.checks.examples import edited
from tracker.checks.examples_turning import LATHE as LATHE1
from tracker.checks.examples_turning import TURNING, TURNING_SHEET
from tracker.checks.finding import REFUSE, WARN
from tracker.checks.rule import LATHE, Example, Rule
from tracker.checks.trail import is_cut
from tracker.checks.watch import Stretch, Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move

_PAST_MM = 0.2


class TurretOffset(Watch):
    """T0102 where the sheet says offset 1, or a cut after T0100; the latter told once a tool."""

    def begin(self, control: Control) -> None:
        """Nothing told so far."""
        self._bare = False

    def tool(self, block: Block, control: Control) -> None:
        """A tool with an offset; 00 takes the offset away: to index so, or to go off so, is common."""
        self._bare = False
        self._judge(block, control)

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A feed move."""
        if is_cut(move):
            self._cuts(block, control)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        self._cuts(stretch.first, control)

    def acted(self, block: Block, control: Control) -> None:
        """A T that only changes the offset."""
        if "T" in self.trail.words and self.trail.change is not None and self.trail.change is not block:
            self._judge(block, control)

    def _cuts(self, block: Block, control: Control) -> None:
        if control.tool_offset != 0 or self._bare:
            return
        tool = self.subject.tool(control.tool)
        if tool is not None and tool.wear_offset != 0:
            self._bare = True
            self.found(block, f"cuts with offset 0, needed {tool.wear_offset}", tool=tool.number)

    def _judge(self, block: Block, control: Control) -> None:
        tool = self.subject.tool(control.tool)
        if tool is None or not control.tool_offset:
            return
        if control.tool_offset != tool.wear_offset:
            self.found(block, f"offset {control.tool_offset}, needed {tool.wear_offset}", tool=tool.number)


class NoSpeedLimit(Watch):
    """G96 with no highest speed stated before it."""

    def begin(self, control: Control) -> None:
        """None so far."""
        self._told = False

    def acted(self, block: Block, control: Control) -> None:
        """The block with G96."""
        if "G96" in self.trail.codes and control.limit is None and not self._told:
            self._told = True
            self.absent(block, "constant surface speed with no G50 S or G92 S before it")


class SpeedLimitHigh(Watch):
    """G50 S above what machine, chuck and sheet allow."""

    def begin(self, control: Control) -> None:
        """The least of the limits."""
        machine, sheet = self.subject.machine, self.subject.operation.max_rpm
        limits = [] if sheet is None else [(sheet, "setup sheet")]
        if machine is not None:
            for most, whose in (
                (machine.max_rpm, machine.id),
                (machine.chuck_max_rpm, f"chuck of {machine.id}"),
            ):
                limits += [] if most is None else [(most, whose)]
            if machine.chuck_max_rpm is None:
                self.unknown(f"chuck_max_rpm of {machine.id} is not stated")
        else:
            self.unknown("no machine: its highest speed is not known")
        self._limit = min(limits) if limits else None

    def acted(self, block: Block, control: Control) -> None:
        """A block that states the limit."""
        if not (self.trail.codes & {"G50", "G92"} and "S" in self.trail.words) or self._limit is None:
            return
        most, whose = self._limit
        if control.limit is None:
            self.unknown("a highest speed by variable", block)
        elif control.limit > most:
            over = control.limit - most
            self.found(
                block,
                f"highest speed S{fig(control.limit)}, {fig(most)} is allowed ({whose}), {fig(over)} too fast",
            )


class PastCentre(Watch):
    """A cut far past the centre, at its end or where it begins; told once a tool."""

    def begin(self, control: Control) -> None:
        """Nothing told so far."""
        self._told = False
        self._at: float | None = None

    def tool(self, block: Block, control: Control) -> None:
        """Each tool by itself."""
        self._told = False
        self._at = None

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A feed move; a rapid takes the tool to where a row of them begins."""
        self._at = None if move.machine else move.end[0]
        if is_cut(move):
            self._judge(block, _least(move.start[0], self.trail.reach(move, 0, control)[0]), control)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        self._judge(stretch.first, _least(self._at, stretch.low[0]), control)
        self._at = None

    def _judge(self, block: Block, x: float | None, control: Control) -> None:
        if self._told or x is None or x >= -1e-9:
            return
        tool = self.subject.tool(self.trail.tool)
        if tool is None or tool.nose_radius is None:
            self.unknown(f"nose_radius of T{self.trail.tool} is not stated", block)
            return
        lowest = -(2 * self.of_sheet(tool.nose_radius, control) + self.margin(_PAST_MM, control))
        if x < lowest - 1e-9:
            self._told = True
            self.found(
                block, f"cuts to X{fig(x)}, needed no farther than X{fig(lowest)}, {fig(lowest - x)} too far"
            )


def _least(*places: float | None) -> float | None:
    return min((one for one in places if one is not None), default=None)


RULES = (
    Rule(
        name="turret-offset",
        severity=REFUSE,
        what="A lathe tool is called with the offset the sheet lists for it, its own number if it lists none, and cuts "
        "with it.",
        reason="The tool is where another one's figures say: it runs into the chuck or cuts to another size.",
        remedy="write T with the tool's own offset, or list the other one as offset on the sheet",
        machines=LATHE,
        watch=TurretOffset,
        example=Example(
            trips=edited(("T0202", "T0201"), text=TURNING), clean=TURNING, sheet=TURNING_SHEET, machine=LATHE1
        ),
    ),
    Rule(
        name="no-speed-limit",
        severity=REFUSE,
        what="A highest speed (G50 S or G92 S) is stated before G96.",
        reason="Towards the centre the spindle runs up to what the machine has: the chuck lets go of the part.",
        remedy="write G50 S with the highest speed before G96",
        machines=LATHE,
        watch=NoSpeedLimit,
        example=Example(
            trips=edited(("G50 S2500\n", ""), ("G50 S2500\n", ""), text=TURNING),
            clean=TURNING,
            sheet=TURNING_SHEET,
            machine=LATHE1,
        ),
    ),
    Rule(
        name="speed-limit-high",
        severity=REFUSE,
        what="The highest speed of G50 S is not above what machine, chuck and sheet allow; the least of them counts.",
        reason="A chuck that turns faster than it may lets go of the part.",
        remedy="lower S of G50; the limits are max_rpm of machine and operation, and chuck_max_rpm",
        machines=LATHE,
        watch=SpeedLimitHigh,
        example=Example(
            trips=edited(("G50 S2500", "G50 S3000"), text=TURNING),
            clean=TURNING,
            sheet=TURNING_SHEET,
            machine=LATHE1,
        ),
    ),
    Rule(
        name="past-centre",
        severity=WARN,
        what="No cut goes farther past the centre than twice the nose radius and 0.2 mm, in diameter.",
        reason="Behind the centre the work turns the other way: the insert's edge breaks.",
        remedy="end at X of minus twice the nose radius, or put nose_radius on the sheet right",
        machines=LATHE,
        watch=PastCentre,
        example=Example(
            trips=edited(("X-0.8", "X-1.6"), text=TURNING), clean=TURNING, sheet=TURNING_SHEET, machine=LATHE1
        ),
    ),
)
