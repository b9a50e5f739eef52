"""Jumps inside a program: the line number they name stands in it."""

import re

from tracker.checks.examples import MILL, SHEET, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.spans import bare, labels_of, lines_of
from tracker.checks.subject import ProgramIn
from tracker.checks.watch import Watch
from tracker.machining.control import Control

_JUMP = re.compile(
    r"(GOTO)[ \t]*0*([0-9]{1,9})(?![0-9.])|(M[ \t]*97)[^P\n]*P[ \t]*0*([0-9]{1,9})(?![0-9.])", re.IGNORECASE
)


class LabelMissing(Watch):
    """GOTO and M97 with a plain number, in the text of each program; a computed one is told by the run."""

    def begin(self, control: Control) -> None:
        """Every program of the operation that jumps at all."""
        for program in self.subject.programs:
            if program.readable and (b"97" in program.data or b"GOTO" in program.data.upper()):
                self._look(program)

    def _look(self, program: ProgramIn) -> None:
        lines = lines_of(program.data)
        for part in self.subject.parts[program.path]:
            met = labels_of(lines, part)
            for at in part.code:
                for goto, far, _, near in _JUMP.findall(bare(lines[at - 1])):
                    number = int(far or near)
                    if number not in met:
                        word = f"GOTO {number}" if goto else f"M97 P{number}"
                        self.found_at(
                            program.path, at, lines[at - 1], f"{word}, and no N{number} in the program"
                        )


RULES = (
    Rule(
        name="label-missing",
        severity=REFUSE,
        what="The line number GOTO and M97 lead to stands in the program.",
        reason="The control stops in the middle of the part, with the tool in it.",
        remedy="put the number behind GOTO or M97 right, or give the line its N back",
        machines=ANY,
        follows=False,
        watch=LabelMissing,
        example=Example(
            trips=edited(("X2.\nG80", "X2.\nGOTO 9901\nG80")),
            clean=edited(("X2.\nG80", "X2.\nGOTO 9901\nN9901 G80")),
            sheet=SHEET,
            machine=MILL,
        ),
    ),
)
