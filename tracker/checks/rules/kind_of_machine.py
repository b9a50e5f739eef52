"""Whether a program is written for the kind of machine it is checked for."""

from tracker.checks.examples import MILL, MILLING, SHEET
from tracker.checks.examples_turning import TURNING
from tracker.checks.finding import REFUSE
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.spans import bare, lines_of
from tracker.checks.watch import Watch
from tracker.machining.control import Control
from tracker.nc.compare_tools import reads_as_lathe
from tracker.nc.scan import read


class WrongKind(Watch):
    """Words that only the other kind of machine has."""

    def begin(self, control: Control) -> None:
        """The main program, where its words say mill or lathe at all."""
        machine, main = self.subject.machine, self.subject.main
        if machine is None or self.subject.lathe is None:
            self.unknown("no machine: its kind is not known")
            return
        says_lathe = reads_as_lathe(read(main.data).code)
        if says_lathe is None or says_lathe == self.subject.lathe:
            return
        lines = lines_of(main.data)
        at = next((place for place, line in enumerate(lines, 1) if bare(line) not in ("", "%")), 1)
        kind = "lathe" if says_lathe else "mill"
        message = f"its words are those of a {kind}, and {machine.id} is a {machine.type}"
        self.found_at(main.path, at, lines[at - 1], message)


RULES = (
    Rule(
        name="mill-or-lathe",
        severity=REFUSE,
        what="A program with words only a lathe has is for a lathe, one with words only a mill has for a mill.",
        reason="The other kind reads the same words otherwise: X as a diameter, U as a move, G50 as a scale.",
        remedy="put machines of the operation right in job.toml, or type of the machine in shop.toml",
        machines=ANY,
        follows=False,
        watch=WrongKind,
        example=Example(
            trips=TURNING,
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
            also=(
                "no-length-offset",
                "rapid-across-low",
                "rapid-down-across",
                "safe-start",
                "tool-not-on-sheet",
                "units-not-sheet",
            ),
        ),
    ),
)
