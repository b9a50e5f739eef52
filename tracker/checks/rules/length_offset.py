"""Length and radius offsets: there at all, and those of the tool in the spindle."""

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import Example, Rule
from tracker.checks.trail import CYCLES, is_work
from tracker.checks.watch import Stretch, Watch
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move

_ON = frozenset(("G43", "G44", "G43.1", "G43.3", "G43.4", "G43.5"))
_IN_FORCE = frozenset(code[1:] for code in _ON)
_RADIUS = frozenset(("41", "42"))
# here an H or D is no offset of a tool
_OTHER_MEANING = frozenset(("G10", "G65", "G66", "G66.1", "M98"))


class NoLengthOffset(Watch):
    """The first absolute move of Z after a tool change, and at the start."""

    def begin(self, control: Control) -> None:
        """A tool may be in the spindle at the start."""
        self._told = False

    def tool(self, block: Block, control: Control) -> None:
        """A tool change asks anew."""
        self._told = False

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A move of Z by itself, or a hole of a cycle."""
        if not self._told and is_work(move) and ("Z" in self.trail.words or move.code[1:] in CYCLES):
            self._judge(block, control)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves with a Z among them."""
        if not self._told and "Z" in stretch.letters:
            self._judge(stretch.first, control)

    def _judge(self, block: Block, control: Control) -> None:
        if control.absolute is False:
            return
        since = self.trail.since
        stated = bool(since & _ON) and ("H" in since or "G43.1" in since)
        if stated and control.length in _IN_FORCE and control.h != 0:
            return
        self._told = True
        machine = self.subject.machine
        if machine is not None and machine.changer == "manual" and not self.trail.changes:
            self.unknown(
                "a machine changed by hand, and no tool is called: length may be set by touching off", block
            )
            return
        self.absent(block, self._words(control, since))

    def _words(self, control: Control, since: set[str]) -> str:
        before = "since its tool change" if self.trail.changes else "since the start"
        if control.length == "49" and since & _ON:
            return "Z moves after G49 took the length offset off"
        if control.h == 0 and "H" in since:
            return "Z moves with H0, which is no length offset"
        if since & _ON:
            return f"Z moves with G43 but no H {before}"
        return f"Z moves with no G43 and H {before}"


class HNotTool(Watch):
    """The H in force against the tool in the spindle."""

    def acted(self, block: Block, control: Control) -> None:
        """A block that names H, or turns the length offset on."""
        trail = self.trail
        if "H" not in trail.words or control.length not in _IN_FORCE or trail.codes & _OTHER_MEANING:
            return
        if control.h is None:
            self.unknown("an H by variable", block)
        elif trail.tool is None:
            self.unknown("no tool is called before the first H", block)
        elif control.h:
            tool = self.subject.tool(trail.tool)
            wanted = tool.length_offset if tool else trail.tool
            if control.h != wanted:
                self.absent(block, f"H{control.h}, needed H{wanted}")


class DNotTool(Watch):
    """The D in force against the tool in the spindle; with none at all the one of the job before is taken."""

    def begin(self, control: Control) -> None:
        """No D stated so far."""
        self._stated = False

    def acted(self, block: Block, control: Control) -> None:
        """A block that names D or turns radius compensation on."""
        trail = self.trail
        if trail.codes & _OTHER_MEANING:
            return
        self._stated |= "D" in trail.words
        turned_on = bool(trail.codes & {"G41", "G42"})
        if control.radius not in _RADIUS or not (turned_on or "D" in trail.words):
            return
        if control.d is None and self._stated:
            self.unknown("a D by variable", block)
        elif trail.tool is None:
            self.unknown("no tool is called before the first D", block)
        else:
            tool = self.subject.tool(trail.tool)
            wanted = tool.diameter_offset if tool else trail.tool
            if control.d is None:
                self.absent(block, f"G{control.radius} with no D so far, needed D{wanted}")
            elif control.d != wanted:
                self.absent(block, f"D{control.d}, needed D{wanted}")


RULES = (
    Rule(
        name="no-length-offset",
        severity=REFUSE,
        what="The first move of Z after a tool change, and at the start, has G43 or G44 with an H since.",
        reason="Without it Z goes to the place of the tool used before, or of the bare spindle: into the part, or the table.",
        remedy="write G43 H with the tool's own number on the first Z move after the tool change",
        watch=NoLengthOffset,
        example=Example(trips=edited(("G43 H2 Z1. M8", "Z1. M8")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="h-not-tool",
        severity=REFUSE,
        what="The H in force is the one the sheet gives the tool in the spindle; not stated there: the tool's number.",
        reason="The control takes any H: Z is then wrong by the difference of two tool lengths.",
        remedy="write the tool's own H, or state h for this tool on the setup sheet",
        watch=HNotTool,
        example=Example(trips=edited(("G43 H2 Z1.", "G43 H1 Z1.")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="d-not-tool",
        severity=REFUSE,
        what="A D is stated by the time of G41 or G42, the one the sheet gives the tool; not stated there: the tool's number.",
        reason="The control takes any D (RS274/NGC: D need not equal the tool in the spindle): the contour is then off "
        "by the difference of two radii, and D0 takes no radius at all. With none stated the D of the job before counts.",
        remedy="write the tool's own D, or state d for this tool on the setup sheet",
        source="NISTIR 6556 section 3.5.10: the D number need not be the slot of the tool",
        watch=DNotTool,
        example=Example(trips=edited(("G41 D1", "G41 D2")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
)
