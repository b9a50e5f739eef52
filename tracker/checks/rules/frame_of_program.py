"""The frame of a program: it ends once, called programs come back, nothing is cut off."""

from tracker.checks.examples import CALLED, MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.spans import OPart, bare, lines_of
from tracker.checks.watch import Stretch, Watch
from tracker.machining.control import Control
from tracker.machining.watch import Block, Event

_ENDS = ("M2", "M30")


class NoEnd(Watch):
    """A main program that runs off its end."""

    def event(self, block: Block, event: Event, control: Control) -> None:
        """The end of the main program."""
        if event.what == "end" and not block.depth and event.value not in (*_ENDS, "M99"):
            self.absent(block, "the main program stops here; found no M30 or M2, needed one")


class MainM99(Watch):
    """M99 in the main program."""

    def event(self, block: Block, event: Event, control: Control) -> None:
        """It begins again by itself, unless the sheet says that this is meant."""
        if event.what != "end" or event.value != "M99" or block.depth:
            return
        if not self.subject.operation.continuous:
            message = (
                "the main program ends with M99 and begins again; needed M30, or continuous on the sheet"
            )
            self.found(block, message)


class CodeAfterEnd(Watch):
    """Code behind the end of the main program that nothing reaches."""

    def begin(self, control: Control) -> None:
        """Where the main program ends, by its text."""
        main = self.subject.main
        self._lines = lines_of(main.data)
        part = next((one for one in self.subject.parts[main.path] if one.code), None)
        self._part = part
        self._end = (
            next((line for line, code in part.ends if code != "99" and self._plain(line)), None)
            if part
            else None
        )
        self._reached = False

    def _plain(self, line: int) -> bool:
        return not bare(self._lines[line - 1]).startswith("/")

    def block(self, block: Block, control: Control) -> None:
        """A block behind it that runs is meant."""
        self._note(block)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        self._note(stretch.first)

    def _note(self, block: Block) -> None:
        part, end = self._part, self._end
        if part is not None and end is not None and end < block.line <= part.last:
            self._reached |= self.trail.path(block) == self.subject.main.path

    def end(self, control: Control) -> None:
        """What is left."""
        if self._part is None or self._end is None or self._reached or self.trail.ever_blind:
            return
        behind = [line for line in self._part.code if line > self._end]
        if behind:
            text = self._lines[behind[0] - 1]
            message = f"{_count(len(behind), 'block')} behind the end of the program at line {self._end}; needed none"
            self.found_at(self.subject.main.path, behind[0], text, message)


class CalledEnd(Watch):
    """How called programs end, by their text."""

    def begin(self, control: Control) -> None:
        """None called so far."""
        self._called: set[int] = set()

    def event(self, block: Block, event: Event, control: Control) -> None:
        """A program by its number."""
        if event.what != "call" or not event.value.lstrip("O").isdigit():
            return
        number = int(event.value.lstrip("O"))
        program = self.subject.by_number.get(number)
        if program is None or number in self._called:
            return
        self._called.add(number)
        parts = self.subject.parts[program.path]
        part = next((one for one in parts if one.number == number), parts[0] if len(parts) == 1 else None)
        if part is not None and (program is not self.subject.main or part.number is not None):
            self._judge(program.path, part, lines_of(program.data), number)

    def _judge(self, path: str, part: OPart, lines: list[str], number: int) -> None:
        for line, code in part.ends:
            if code != "99" and not bare(lines[line - 1]).startswith("/"):
                self.found_at(
                    path, line, lines[line - 1], f"M{code} in the called program O{number:04}; needed M99"
                )
                return
        if not any(code == "99" for _, code in part.ends):
            at = part.code[-1] if part.code else part.first
            self.found_at(path, at, lines[at - 1], f"the called program O{number:04} ends without M99")


class CallsTooDeep(Watch):
    """Programs that call programs that call programs."""

    def begin(self, control: Control) -> None:
        """Nothing told so far."""
        self._told = False

    def block(self, block: Block, control: Control) -> None:
        """How deep this block lies."""
        most = self.subject.checks.call_depth
        if block.depth > most and not self._told:
            self._told = True
            self.found(block, f"called {block.depth} deep, most {most}, {block.depth - most} too deep")


class CutOff(Watch):
    """A file that opens with a per cent sign and has none at its end."""

    def begin(self, control: Control) -> None:
        """Every program of the operation."""
        for program in self.subject.programs:
            lines = [
                (at, line)
                for at, line in enumerate(lines_of(program.data), 1)
                if line.strip(" \t\x00\x11\x12\x13\x14\x1a\xef\xbb\xbf")
            ]
            marks = [at for at, line in lines if line.lstrip(" \t\x00\xef\xbb\xbf").startswith("%")]
            if len(marks) == 1 and marks[0] == lines[0][0]:
                at, text = lines[-1]
                self.found_at(
                    program.path, at, text, "opens with % and no % closes it: the transfer may have been cut"
                )


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


_CALLING = edited(("G41 D1 X0. F40.\n", "G41 D1 X0. F40.\nM98 P1002\n"))
_SUB = {1002: CALLED}
_DEEP = {
    number: f"%\nO{number}\nG1 X2. F40.\n" + (f"M98 P{number + 1}\n" if number < 1006 else "") + "M99\n%\n"
    for number in range(1002, 1007)
}

RULES = (
    Rule(
        name="no-end",
        severity=REFUSE,
        what="The main program ends with M30 or M2.",
        reason="A text that just stops was cut off on its way, or spindle and coolant go on.",
        remedy="write M30 at the end; look whether something is missing before it",
        machines=ANY,
        watch=NoEnd,
        example=Example(trips=edited(("M30\n", "")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="main-m99",
        severity=REFUSE,
        what="The main program does not end with M99, unless the sheet says continuous = true.",
        reason="It begins again at once, with the finished part still in the machine.",
        remedy="write M30, or continuous = true on the setup sheet of bar work",
        machines=ANY,
        watch=MainM99,
        example=Example(trips=edited(("M30\n", "M99\n")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="code-after-end",
        severity=REFUSE,
        what="Nothing stands behind M30 or M2 of the main program that is never reached.",
        reason="It is the rest of another text, or the program ends too early.",
        remedy="take out what is left over, or move M30 to the end",
        machines=ANY,
        watch=CodeAfterEnd,
        example=Example(
            trips=edited(
                (
                    "G0 Z1. M9\nM5\nG91 G28 Z0.\nG28 Y0.\nG90\nM30\n",
                    "G0 Z1. M9\nM5\nG91 G28 Z0.\nG90\nM30\nG28 Y0.\n",
                )
            ),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
        ),
    ),
    Rule(
        name="called-end",
        severity=REFUSE,
        what="A called program ends with M99 and holds no M30 or M2.",
        reason="M30 in it ends everything in the middle of the part; without M99 the control stops, or runs on.",
        remedy="end the called program with M99",
        machines=ANY,
        watch=CalledEnd,
        example=Example(
            trips=_CALLING,
            clean=_CALLING,
            sheet=SHEET,
            machine=MILL,
            called=_SUB,
            trips_called={1002: CALLED.replace("M99", "M30")},
            also=("coolant-left-on", "comp-left-on", "end-not-home", "no-end", "sheet-tool-unused"),
        ),
    ),
    Rule(
        name="calls-too-deep",
        severity=REFUSE,
        what="Called programs lie at most 4 deep (call_depth of [checks]).",
        reason="Controls stop with an alarm where the depth they know is exceeded, in the middle of the part.",
        remedy="call with fewer steps between",
        machines=ANY,
        watch=CallsTooDeep,
        example=Example(
            trips=_CALLING, clean=_CALLING, sheet=SHEET, machine=MILL, called=_SUB, trips_called=_DEEP
        ),
    ),
    Rule(
        name="cut-off",
        severity=REFUSE,
        what="A file that opens with % ends with one.",
        reason="The last % is the mark that the whole text came over.",
        remedy="look what is missing at the end, and close the file with %",
        machines=ANY,
        follows=False,
        watch=CutOff,
        example=Example(trips=edited(("M30\n%", "M30")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
)
