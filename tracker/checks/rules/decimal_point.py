"""Lengths without a decimal point: 1 is 1 on one control and 0.001 mm or 0.0001 in on another.

Read from the text, not from the run: a block that is skipped or never reached counts too.
"""

import re
from collections.abc import Iterator

from tracker.checks.examples import INCREMENT, MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.spans import bare, lines_of
from tracker.checks.subject import ProgramIn
from tracker.checks.watch import Watch, fig
from tracker.machining.control import Control
from tracker.nc.codes import code_of
from tracker.nc.word import Word, words

_LENGTHS = "XYZIJKRUVWABC"
_WORD = re.compile(rf"([{_LENGTHS}])[ \t]*[-+]?[ \t]*([0-9]*\.?[0-9]*)", re.IGNORECASE)
_MAYBE_BARE = re.compile(rf"[{_LENGTHS}][ \t]*[-+]?[ \t]*[0-9][0-9 \t]*(?![0-9. \t])", re.IGNORECASE)
_ANGLES = frozenset(
    ("A", "B", "C", ",A")
)  # in thousandths of a degree, whatever the units (as in `tracker.machining.figures`)
# G words in whose block other letters are counts, angles, times or arguments
_ARGUMENTS = frozenset(
    ("4", "31.1", "50", "50.1", "51", "51.1", "65", "66", "66.1", "67", "68", "68.1", "69")
)
_LATHE_COUNTS = frozenset(("70", "71", "72", "73", "74", "75", "76"))
_MILL_CYCLES = frozenset(("73", "74", "76", *map(str, range(81, 90))))
_STATEMENTS = frozenset(("IF", "WHILE", "DO", "END", "GOTO", "#", "O", ":", "["))


class BareNumber(Watch):
    """Length words without a point, by the machine's way of reading them and by the program's own habit."""

    def begin(self, control: Control) -> None:
        """Every program of the operation."""
        machine = self.subject.machine
        decimal = machine.decimal if machine else None
        for program in self.subject.programs:
            if not program.readable:
                continue
            found = list(_bare_words(program, lathe=control.lathe))
            if not found:
                continue
            share = _Share(program) if decimal != "increment" else None
            units = self.subject.operation.units
            for line, text, word in found:
                if share is None:
                    self._small(program, line, text, word, units)
                elif share.is_slip(word.letter[-1], self.subject.checks.points_percent):
                    self._slip(program, line, text, word, share)
                elif decimal is None:
                    why = "decimal of the machine is not stated, and lengths stand without a point"
                    self.unknown_at(why, program.path, line)

    def _small(self, program: ProgramIn, line: int, text: str, word: Word, units: str | None) -> None:
        turns = word.letter in _ANGLES
        step = 0.0001 if units == "inch" and not turns else 0.001
        read = fig(float(word.number) * step) if units or turns else "a count of smallest steps"
        message = f"{word.text} has no point and is read as {word.letter[-1]}{read}, needed {word.text}. with a point"
        self.found_at(program.path, line, text, message)

    def _slip(self, program: ProgramIn, line: int, text: str, word: Word, share: "_Share") -> None:
        message = (
            f"{word.text} has no point, {share.percent(word.letter[-1])} % of such words here have one: "
            "a slip, and a thousandth of it or less on some controls"
        )
        self.found_at(program.path, line, text, message)


class _Share:
    """How many length words of a text have a point, by letter and in all; words of 0 do not count."""

    def __init__(self, program: ProgramIn) -> None:
        self.pointed: dict[str, int] = {}
        self.all: dict[str, int] = {}
        for line in lines_of(program.data):
            for letter, number in _WORD.findall(bare(line)):
                if number.strip("0.") or "." in number:
                    key = letter.upper()
                    self.all[key] = self.all.get(key, 0) + 1
                    self.pointed[key] = self.pointed.get(key, 0) + ("." in number)

    def is_slip(self, letter: str, percent: float) -> bool:
        """Nearly all words of the letter have a point; or nearly all of the text and most of the letter."""
        own = self._share(self.pointed.get(letter, 0), self.all.get(letter, 0))
        whole = self._share(sum(self.pointed.values()), sum(self.all.values()))
        return own >= percent or (whole >= percent and own > 50)

    def percent(self, letter: str) -> str:
        """The larger of both shares, as a whole number."""
        own = self._share(self.pointed.get(letter, 0), self.all.get(letter, 0))
        whole = self._share(sum(self.pointed.values()), sum(self.all.values()))
        return str(int(max(own, whole)))

    @staticmethod
    def _share(part: int, whole: int) -> float:
        return 100 * part / whole if whole else 0


def _bare_words(program: ProgramIn, *, lathe: bool) -> Iterator[tuple[int, str, Word]]:
    """Line, its text, and the word, for each length without a point that is not 0."""
    for at, line in enumerate(lines_of(program.data), 1):
        if not _MAYBE_BARE.search(bare(line)):
            continue
        block = words(line)
        codes = {code_of(word.number) for word in block if word.letter == "G"}
        if codes & _ARGUMENTS or any(word.letter in _STATEMENTS for word in block):
            continue
        if any(word.letter == "M" and code_of(word.number) in ("98", "97", "198", "96") for word in block):
            continue
        counts = _counts(codes, lathe=lathe)
        for word in block:
            letter = word.letter.lstrip(",")
            if letter in counts or len(letter) != 1 or letter not in _LENGTHS:
                continue
            if word.number.lstrip("+-").isdigit() and word.number.strip("+-0"):
                yield at, line, word


def _counts(codes: set[str], *, lathe: bool) -> str:
    """Letters that are no lengths in a block with these G words."""
    if lathe:
        return "RUWAKIC" if codes & _LATHE_COUNTS else "K" if codes & {"83", "84", "87", "88"} else ""
    return "K" if codes & _MILL_CYCLES else ""


RULES = (
    Rule(
        name="bare-number",
        severity=REFUSE,
        what="Lengths and angles (X Y Z I J K R U V W A B C) have a decimal point, unless they are 0; on a machine that "
        "reads X1 as 1, only a lone one among many with a point is told.",
        reason="A control that counts smallest steps makes 0.0001 in or 0.001 mm of X1: the tool goes to another place.",
        remedy="write the point: X1. for X1",
        source="trade articles on decimal points; the share of 95 % is ours",
        machines=ANY,
        follows=False,
        watch=BareNumber,
        example=Example(
            trips=edited(("X2.\nG80", "X2\nG80")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
            trips_machine=INCREMENT,
        ),
    ),
)
