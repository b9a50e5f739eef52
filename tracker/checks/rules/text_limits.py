"""What a control can read: how long a line may be, which characters, and that a text uses variables or probes."""

import re
from dataclasses import replace

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import INFO, REFUSE, WARN
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.spans import lines_of
from tracker.checks.subject import ProgramIn
from tracker.checks.watch import Watch
from tracker.machining.control import Control
from tracker.nc.codes import code_of
from tracker.nc.word import words

_BEYOND_ASCII = re.compile(r"[^\t\x20-\x7e]")
_LOWER = re.compile(r"[a-z]")
_MACROS = frozenset(("G65", "G66", "G31"))
_MAY_HOLD = re.compile(r"#|[Gg] ?0*(?:65|66|31)(?![0-9.])")
_MOST_NAMED = 8


class _Texts(Watch):
    """Looks at the lines of every program once."""

    def begin(self, control: Control) -> None:
        """All texts that are read as words."""
        for program in self.subject.programs:
            if program.readable:
                self.look(program)

    def look(self, program: ProgramIn) -> None:
        """Ask."""

    def told(self, program: ProgramIn, lines: list[str], places: list[int], message: str) -> None:
        """One finding for all lines of a program, at the first."""
        if places:
            more = "" if len(places) == 1 else f", and {len(places) - 1} lines more"
            self.found_at(program.path, places[0], lines[places[0] - 1], f"{message}{more}")


class LineTooLong(_Texts):
    """A line longer than the control takes."""

    def look(self, program: ProgramIn) -> None:
        """Every line, with its blanks and comments."""
        machine = self.subject.machine
        if machine is None or not machine.max_line:
            return
        lines = lines_of(program.data)
        places = [at for at, line in enumerate(lines, 1) if len(line) > machine.max_line]
        if places:
            long = len(lines[places[0] - 1])
            self.told(
                program,
                lines,
                places,
                f"{long} characters, {machine.id} takes {machine.max_line}, {long - machine.max_line} too many",
            )


class Characters(_Texts):
    """Characters the control does not take."""

    def look(self, program: ProgramIn) -> None:
        """Those beyond ASCII, and small letters where only capitals are read."""
        machine = self.subject.machine
        if machine is None or machine.characters == "any":
            return
        if program.data.isascii() and machine.characters == "ascii":
            return
        lines = lines_of(program.data)
        places = [at for at, line in enumerate(lines, 1) if _BEYOND_ASCII.search(line)]
        self.told(
            program, lines, places, f"characters {machine.id} does not take (it reads {machine.characters})"
        )
        if machine.characters == "ascii-upper":
            small = [at for at, line in enumerate(lines, 1) if _LOWER.search(line)]
            self.told(program, lines, small, f"small letters, {machine.id} reads capitals only")


class UsesVariables(_Texts):
    """Variables, macro calls, probing: named, since checks and people see less of such a text."""

    def look(self, program: ProgramIn) -> None:
        """Lines that hold one."""
        data = program.data
        if b"#" not in data and not _MAY_HOLD.search(data.decode("latin-1")):
            return
        lines = lines_of(data)
        places: list[int] = []
        named: dict[str, None] = {}
        for at, line in enumerate(lines, 1):
            held = _macro_words(line) if _MAY_HOLD.search(line) else []
            if held:
                places.append(at)
                named |= dict.fromkeys(held)
        listed = ", ".join(list(named)[:_MOST_NAMED]) + (", ..." if len(named) > _MOST_NAMED else "")
        self.told(program, lines, places, f"uses {listed}: what it does hangs on values not in the text")


def _macro_words(line: str) -> list[str]:
    """The variables set and the macro codes of a line."""
    held: list[str] = []
    for word in words(line):
        if word.letter == "#":
            held.append(word.text.partition("=")[0])
        elif word.letter == "G" and f"G{code_of(word.number)}" in _MACROS:
            held.append(f"G{code_of(word.number)}")
        elif "#" in word.number:
            held.append("#" + re.split(r"[^0-9\[\]#]", word.number.partition("#")[2])[0])
    return held


RULES = (
    Rule(
        name="line-too-long",
        severity=REFUSE,
        what="No line is longer than the machine's max_line.",
        reason="The control cuts the line off, and what is left of it acts, or it stops while reading.",
        remedy="shorten the comment or split the block",
        machines=ANY,
        follows=False,
        watch=LineTooLong,
        example=Example(
            trips=edited(("(1/2 END MILL)", "(1/2 END MILL, 4 FLUTES, FOR THE OUTSIDE OF THE PLATE)")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
            trips_machine=replace(MILL, max_line=50),
        ),
    ),
    Rule(
        name="characters-not-read",
        severity=WARN,
        what="A program holds only characters the machine reads (characters in shop.toml).",
        reason="The control stops while reading, or shows the line otherwise; export writes them anew in its copy.",
        remedy="take the characters out of comments, or leave it to export",
        machines=ANY,
        follows=False,
        watch=Characters,
        example=Example(
            trips=edited(("(NO. 7 DRILL)", "(NO. 7 DRILL \xd8)")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
            trips_machine=replace(MILL, characters="ascii"),
        ),
    ),
    Rule(
        name="uses-variables",
        severity=INFO,
        what="A program without variables, macro calls and probing.",
        reason="Where they stand, what the machine does hangs on values nobody sees in the text; some checks cannot tell then.",
        remedy="look at these lines at the prove-out; list the variables it needs on the sheet",
        machines=ANY,
        follows=False,
        watch=UsesVariables,
        example=Example(trips=edited(("G20\n", "G20\n#101=5\n")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
)
