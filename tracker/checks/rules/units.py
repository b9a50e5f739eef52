"""Inch or millimetre: said before anything moves, the sheet's, and the same to the end."""

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.trail import AXES, is_work
from tracker.checks.watch import Stretch, Watch
from tracker.machining.control import Control
from tracker.machining.watch import DWELL, Block, Move

_UNITS = {"G20": "inch", "G21": "mm"}


class NoUnits(Watch):
    """A move before G20 or G21."""

    def begin(self, control: Control) -> None:
        """Nothing said so far."""
        self._settled = False

    def block(self, block: Block, control: Control) -> None:
        """Units are in force for the whole of their block."""
        self._settled |= bool(self.trail.codes & _UNITS.keys())

    def move(self, block: Block, move: Move, control: Control) -> None:
        """Any move but one home by way of where the tool stands: 0 is 0 in both."""
        if not self._settled and move.kind != DWELL and (is_work(move) or self._has_length()):
            self._settled = True
            self.absent(block, "moves before G20 or G21 was stated; found neither, needed one")

    def _has_length(self) -> bool:
        words = self.trail.words
        return any(words[letter].number.strip("+-0.") for letter in AXES & words.keys())

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        if not self._settled:
            self._settled = True
            self.absent(stretch.first, "moves before G20 or G21 was stated; found neither, needed one")


class UnitsNotSheet(Watch):
    """G20 or G21 against the sheet."""

    def begin(self, control: Control) -> None:
        """What the sheet states."""
        self._told = False
        if self.subject.operation.units is None:
            self.unknown("units are not stated on the setup sheet")

    def block(self, block: Block, control: Control) -> None:
        """The first that differs."""
        wanted = self.subject.operation.units
        said = {_UNITS[code] for code in self.trail.codes & _UNITS.keys()}
        if wanted and said - {wanted} and not self._told:
            self._told = True
            self.found(
                block,
                f"the program is in {said.pop()}, the setup sheet in {wanted}: every length 25.4 times off",
            )


class UnitsChange(Watch):
    """A second G20 or G21 that says something else."""

    def begin(self, control: Control) -> None:
        """Nothing said so far."""
        self._first: str | None = None

    def block(self, block: Block, control: Control) -> None:
        """Said again is fine."""
        for code in self.trail.codes & _UNITS.keys():
            if self._first is not None and code != self._first:
                self.found(block, f"{code} after {self._first}: units change in the middle of the program")
            self._first = code


RULES = (
    Rule(
        name="no-units",
        severity=REFUSE,
        what="G20 or G21 is stated before the first move.",
        reason="Else the units of the job before count: every length may be 25.4 times too long or too short.",
        remedy="write G20 or G21 at the head of the program",
        machines=ANY,
        watch=NoUnits,
        example=Example(trips=edited(("G20\n", "")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="units-not-sheet",
        severity=REFUSE,
        what="G20 or G21 says the units of the setup sheet.",
        reason="Offsets and tools are set in the sheet's units; the program moves in the other.",
        remedy="post the program in the sheet's units, or put the sheet right",
        machines=ANY,
        watch=UnitsNotSheet,
        example=Example(
            trips=edited(("G20\n", "G21\n")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
            also=(
                "comp-lead-in-short",
                "stick-out-short",
                "rapid-down-across",
                "rapid-across-low",
                "rapid-near-part",
                "approach-low",
                "cycle-retract-low",
            ),
        ),
    ),
    Rule(
        name="units-change",
        severity=REFUSE,
        what="Units stay the same through the whole program and all it calls.",
        reason="A called program of another job leaves its units in force for all that follows.",
        remedy="write all programs of the operation in one system of units",
        machines=ANY,
        watch=UnitsChange,
        example=Example(
            trips=edited(("M5\nG91 G28 Z0.\nG28 Y0.\nG90\nM30", "M5\nG91 G28 Z0.\nG28 Y0.\nG90\nG21\nM30")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
            also=("units-not-sheet",),
        ),
    ),
)
