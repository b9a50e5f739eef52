"""The program's number: in its file and in the file's name, and none of those kept by control and builder."""

import re

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import INFO, REFUSE
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.spans import lines_of
from tracker.checks.subject import ProgramIn
from tracker.checks.watch import Watch
from tracker.machining.control import Control

_NAMED = re.compile(r"[Oo]0*([0-9]{1,8})")
_KEPT = range(8000, 10000)
_COMMON = "common/"


class _Programs(Watch):
    """Looks at every program of the operation once."""

    def begin(self, control: Control) -> None:
        """All texts that are read as words."""
        for program in self.subject.programs:
            if program.readable:
                self.look(program)

    def look(self, program: ProgramIn) -> None:
        """Ask."""

    def at(self, program: ProgramIn, line: int, message: str) -> None:
        """A finding at a line of a program."""
        self.found_at(program.path, line, lines_of(program.data)[line - 1], message)


class NotTheFileName(_Programs):
    """``O1001.nc`` without an O1001 in it."""

    def look(self, program: ProgramIn) -> None:
        """Only names that are an O number say which one is meant."""
        stem = program.path.rpartition("/")[2].partition(".")[0]
        named = _NAMED.fullmatch(stem)
        held = [part for part in self.subject.parts[program.path] if part.number is not None]
        if named is None or not held or int(named[1]) in {part.number for part in held}:
            return
        self.at(program, held[0].first, f"O{held[0].number} in a file called {stem}; needed O{int(named[1])}")


class KeptNumber(_Programs):
    """A program of the shop's own under a number controls keep."""

    def look(self, program: ProgramIn) -> None:
        """8000 to 9999; in common/ they are the shop's own, kept so that nobody changes them by the way."""
        if program.path.startswith(_COMMON):
            return
        for part in self.subject.parts[program.path]:
            if part.number in _KEPT:
                self.at(
                    program, part.first, f"O{part.number} is one of 8000 to 9999, which many controls protect"
                )


class NumberTwice(_Programs):
    """A number another program for the same machines has."""

    def begin(self, control: Control) -> None:
        """Nothing to say of a record nobody could read."""
        if self.subject.on_record.unread is not None:
            self.unknown(f"the record could not be read: {self.subject.on_record.unread}")
        super().begin(control)

    def look(self, program: ProgramIn) -> None:
        """Where the other one is, in words."""
        others = {other.number: other.where for other in self.subject.on_record.others}
        for part in self.subject.parts[program.path]:
            if part.number in others:
                self.at(program, part.first, f"O{part.number} is the number of {others[part.number]} too")


RULES = (
    Rule(
        name="o-number-not-file-name",
        severity=REFUSE,
        what="A file whose name is an O number holds the program of that number.",
        reason="The control lists a program by the O word: another one is called up than the name says.",
        remedy="put the O word or the name of the file right",
        machines=ANY,
        follows=False,
        watch=NotTheFileName,
        example=Example(trips=edited(("O1001", "O1010")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="o-number-kept",
        severity=INFO,
        what="No program outside common/ has a number from 8000 to 9999.",
        reason="Many controls protect them, or hold the builder's own programs there (from memory).",
        remedy="give the program another number, where it is none of the builder's",
        machines=ANY,
        follows=False,
        watch=KeptNumber,
        example=Example(
            trips=edited(("O1001", "O8001")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
            also=("o-number-not-file-name",),
        ),
    ),
    Rule(
        name="o-number-twice",
        severity=REFUSE,
        what="No two programs for one machine, or one group of machines, have one number, but for alternatives.",
        reason="A control holds one program of a number: loading the second goes over the first, or is refused.",
        remedy="give one of them another number",
        machines=ANY,
        follows=False,
        watch=NumberTwice,
        example=Example(
            trips=MILLING,
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
            others={1001: "4472/op10 r2, jobs/4472/op10/O1001.nc"},
        ),
    ),
)
