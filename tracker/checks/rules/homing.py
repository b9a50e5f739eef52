"""Going home: not by way of a work point, Z first, and back in G90 afterwards."""

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE, WARN
from tracker.checks.rule import COMMON, Example, Rule
from tracker.checks.trail import HOMING, is_work
from tracker.checks.watch import Stretch, Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block, Event, Move

_HOME = frozenset(("G28", "G30"))
_ALL_AXES = frozenset("XYZABC")


class HomeByWorkPoint(Watch):
    """G28 and G30 with an axis word where G90 is in force."""

    def acted(self, block: Block, control: Control) -> None:
        """The block has its G90 or G91 by now."""
        home = self.trail.codes & _HOME
        axes = [word.text for letter, word in self.trail.words.items() if letter in _ALL_AXES]
        if home and axes and control.absolute is not False:
            mode = "G90 in force" if control.absolute else "neither G90 nor G91 stated"
            code = min(home)
            self.absent(
                block, f"{code} {' '.join(axes)} with {mode} goes to {' '.join(axes)} of the work first"
            )


class MachinePointInG91(Watch):
    """G53 with axis words where G91 is in force."""

    def acted(self, block: Block, control: Control) -> None:
        """The block has its G90 or G91 by now."""
        axes = [word.text for letter, word in self.trail.words.items() if letter in _ALL_AXES]
        if "G53" in self.trail.codes and axes and control.absolute is False:
            self.absent(block, f"G53 {' '.join(axes)} with G91 in force; needed G90")


class HomeAllAxes(Watch):
    """G28 and G30 with no axis word."""

    def acted(self, block: Block, control: Control) -> None:
        """A home return and no axis."""
        home = self.trail.codes & _HOME
        if home and not self.trail.words.keys() & _ALL_AXES:
            self.found(block, f"{min(home)} names no axis; found none, needed at least one")


class HomeBeforeZ(Watch):
    """X or Y sent home while Z is still down in the work."""

    def begin(self, control: Control) -> None:
        """Nobody knows where Z stands at the start."""
        self._down = False

    def move(self, block: Block, move: Move, control: Control) -> None:
        """Z moves in the work are what makes it dangerous."""
        if is_work(move) and ("Z" in self.trail.words or _changes_z(move)):
            self._down = True

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves with Z."""
        self._down |= "Z" in stretch.letters

    def tool(self, block: Block, control: Control) -> None:
        """A tool change takes Z up."""
        self._down = False

    def acted(self, block: Block, control: Control) -> None:
        """A home return, or a move in machine coordinates."""
        codes, words = self.trail.codes & HOMING, self.trail.words
        if not codes:
            return
        sideways = [letter for letter in ("X", "Y") if letter in words]
        if sideways and self._down and "Z" not in words:
            self.absent(
                block, f"{min(codes)} moves {' and '.join(sideways)} while Z was not taken home before"
            )
        if "Z" in words or (codes & _HOME and not words.keys() & _ALL_AXES):
            self._down = False


class G91LeftOn(Watch):
    """The first move in the work after a home return or a tool change, under a G91 that was meant for going home."""

    def begin(self, control: Control) -> None:
        """No home return so far."""
        self._since: str | None = None

    def block(self, block: Block, control: Control) -> None:
        """A G91 written after it is meant."""
        if self.trail.codes & {"G90", "G91"} and not self.trail.codes & HOMING:
            self._since = None

    def acted(self, block: Block, control: Control) -> None:
        """A home return under G91."""
        if self.trail.codes & _HOME and control.absolute is False:
            self._since = f"the home return at line {block.line}"

    def tool(self, block: Block, control: Control) -> None:
        """A tool change under G91."""
        if control.absolute is False and "G91" not in self.trail.codes:
            self._since = self._since or f"the tool change at line {block.line}"

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A move in the work."""
        if self._since and is_work(move) and not self.trail.codes & HOMING:
            self._judge(block, control)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        if self._since:
            self._judge(stretch.first, control)

    def _judge(self, block: Block, control: Control) -> None:
        if control.absolute is False:
            self.absent(
                block,
                f"G91 is still in force since {self._since}, needed G90: the words are taken as distances",
            )
        self._since = None


class EndNotHome(Watch):
    """Where Z stands when the main program ends."""

    def begin(self, control: Control) -> None:
        """Nobody knows at the start."""
        self._down: Block | None = None

    def move(self, block: Block, move: Move, control: Control) -> None:
        """Z in the work, or taken home."""
        if is_work(move) and ("Z" in self.trail.words or _changes_z(move)):
            self._down = block

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves with Z."""
        if "Z" in stretch.letters:
            self._down = stretch.last

    def tool(self, block: Block, control: Control) -> None:
        """A tool change takes Z up."""
        self._down = None

    def acted(self, block: Block, control: Control) -> None:
        """A home return or machine coordinates of Z, or of all axes."""
        codes, words = self.trail.codes, self.trail.words
        if codes & HOMING and ("Z" in words or (codes & _HOME and not words.keys() & _ALL_AXES)):
            self._down = None

    def event(self, block: Block, event: Event, control: Control) -> None:
        """The end of the main program."""
        if (
            event.what == "end"
            and event.value in ("M2", "M30")
            and self._down is not None
            and not block.depth
        ):
            z = control.position[2]
            where = f"Z{fig(z)}" if z is not None else "a place in the work"
            self.absent(block, f"the program ends with Z at {where}, needed: taken home")


def _changes_z(move: Move) -> bool:
    return move.end[2] is not None and move.end[2] != move.start[2]


RULES = (
    Rule(
        name="home-by-work-point",
        severity=REFUSE,
        what="G28 and G30 with an axis word stand under G91.",
        reason="Under G90 the axis words are a point of the work the tool goes to first, at rapid: G28 Z0. dives to Z0.",
        remedy="write G53 G0 Z0. instead, or G91 G28 Z0. with a G90 after it",
        source="NISTIR 6556 section 3.5.8: the move goes by way of the programmed point",
        watch=HomeByWorkPoint,
        example=Example(
            trips=edited(("G91 G28 Z0.\nG90\n(NO", "G90 G28 Z0.\n(NO")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
        ),
    ),
    Rule(
        name="g53-in-g91",
        severity=WARN,
        what="G53 stands under G90, never G91.",
        reason="Under G91 some controls pass G53 over: the tool stays where it is, or goes by the figures as distances.",
        remedy="write G90 in the block, before the G53",
        watch=MachinePointInG91,
        example=Example(
            trips=edited(("G91 G28 Z0.\nG90\n(NO", "G91 G53 G0 Z0.\nG90\n(NO")),
            clean=edited(("G91 G28 Z0.\nG90\n(NO", "G90 G53 G0 Z0.\n(NO")),
            sheet=SHEET,
            machine=MILL,
        ),
    ),
    Rule(
        name="home-all-axes",
        severity=WARN,
        what="G28 and G30 name the axes that go home.",
        reason="With no axis word some controls move none, others all axes at once, straight through what stands in the way.",
        remedy="name the axes: G91 G28 Z0. first, then X and Y",
        watch=HomeAllAxes,
        example=Example(trips=edited(("G28 Y0.\n", "G28\n")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="home-before-z",
        severity=REFUSE,
        what="Z is taken home before X and Y are.",
        reason="The tool would be dragged through part and clamps at rapid.",
        remedy="take Z home first, then X and Y",
        watch=HomeBeforeZ,
        example=Example(
            trips=edited(("M5\nG91 G28 Z0.\nG28 Y0.", "M5\nG91 G28 Y0.\nG28 Z0.")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
        ),
    ),
    Rule(
        name="g91-left-on",
        severity=REFUSE,
        what="After a home return or a tool change under G91 the next move in the work is made under G90.",
        reason="A G91 left on turns every position into a distance: the tool goes somewhere else entirely.",
        remedy="write G90 after the home return, and in the first block of the next tool",
        source=f"{COMMON}; G90 and G91 are modal: NISTIR 6556 section 3.5.17",
        watch=G91LeftOn,
        example=Example(
            trips=edited(
                ("G91 G28 Z0.\nG90\n(NO", "G91 G28 Z0.\n(NO"),
                ("T1\nG0 G17 G40 G80 G90 G54 X1. Y1. S4000", "T1\nG0 G17 G40 G80 G54 X1. Y1. S4000"),
                ("G43 H2 Z1. M8", "G90 G43 H2 Z1. M8"),
            ),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
        ),
    ),
    Rule(
        name="end-not-home",
        severity=WARN,
        what="Z is taken home before the main program ends.",
        reason="Whoever opens the door to change the part reaches under a tool that stands over it.",
        remedy="end with G91 G28 Z0., then the table to where the part is changed",
        watch=EndNotHome,
        example=Example(
            trips=edited(("M5\nG91 G28 Z0.\nG28 Y0.\nG90\nM30", "M5\nM30")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
        ),
    ),
)
