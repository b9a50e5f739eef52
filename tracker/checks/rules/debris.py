"""What trying out leaves behind: block skips where they may not be, code put in brackets."""

import re

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE, WARN
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.spans import lines_of
from tracker.checks.subject import ProgramIn
from tracker.checks.watch import Watch
from tracker.machining.control import Control
from tracker.machining.watch import Block
from tracker.nc.codes import code_of
from tracker.nc.word import words

_KEEP = frozenset(("G43", "G44", "M6"))
_COMMENT = re.compile(r"\(([^()]*)\)|;(.*)")
_NUMBER = re.compile(r"[-+]?[0-9]*\.?[0-9]+\.?")
_AXES = frozenset("XYZUVWABC")
_TOOL_LIST = frozenset("TDH")
_MOVES = frozenset(("0", "1", "2", "3", "28", "30", "43", "73", "74", "76", *map(str, range(81, 90))))


class SkipOnLine(Watch):
    """A block skip on what must never be left out."""

    def block(self, block: Block, control: Control) -> None:
        """G43, M6, Z or S behind a ``/``."""
        if not block.skip:
            return
        held = sorted(self.trail.codes & _KEEP) + [
            self.trail.words[letter].text for letter in ("Z", "S") if letter in self.trail.words
        ]
        if held:
            self._tell(block, " ".join(held))

    def tool(self, block: Block, control: Control) -> None:
        """A change by T alone behind a ``/``."""
        if block.skip and not self.trail.codes & _KEEP and not self.trail.words.keys() & {"Z", "S"}:
            self._tell(block, f"T{control.tool}")

    def _tell(self, block: Block, held: str) -> None:
        self.found(block, f"{held} behind a block skip: left out where the switch is on")


class CodeInComment(Watch):
    """Comments that read as blocks of a program."""

    def begin(self, control: Control) -> None:
        """Every program of the operation; a row of such lines is told once."""
        for program in self.subject.programs:
            if program.readable and (b"(" in program.data or b";" in program.data):
                self._look(program)

    def _look(self, program: ProgramIn) -> None:
        lines = lines_of(program.data)
        found = [at for at, line in enumerate(lines, 1) if ("(" in line or ";" in line) and is_block(line)]
        while found:
            row = 1
            while row < len(found) and found[row] == found[0] + row:
                row += 1
            more = "" if row == 1 else f", and {row - 1} more after it"
            text = lines[found[0] - 1]
            self.found_at(program.path, found[0], text, f"a block of code as a comment: {text.strip()}{more}")
            del found[:row]


def is_block(line: str) -> bool:
    """Whether a comment of the line holds nothing but words, a move or a tool change among them.

    ``(T3 D0.5)``, ``(G54)`` and ``(X0 Y0 CORNER)`` are wording; ``(G1 X2. F10.)``, ``(T4 M6)``, ``(M98 P1002)`` are not,
    nor is ``(N150 X2.5)``: a block with its number.
    """
    for inside, behind in _COMMENT.findall(line):
        read = words(inside or behind)
        held = [word for word in read if word.letter != "N"]
        numbered = len(read) > len(held) and read[0].letter == "N" and bool(read[0].number)
        if len(held) < (1 if numbered else 2) or not all(
            len(w.letter) == 1 and _NUMBER.fullmatch(w.number) for w in held
        ):
            continue
        letters = {word.letter for word in held}
        codes = {word.letter + code_of(word.number) for word in held if word.letter in "GM"}
        moves = bool(letters & _AXES) and (
            (numbered and not letters & _TOOL_LIST)
            or any(f"G{code}" in codes for code in _MOVES)
            or "F" in letters
        )
        if moves or {"M6", "T"} <= codes | letters or {"M98", "P"} <= codes | letters:
            return True
    return False


RULES = (
    Rule(
        name="skip-on-line",
        severity=REFUSE,
        what="No block skip stands on a block with G43, M6, Z or S.",
        reason="With the switch on, the tool works with the length, tool, height or speed of something else.",
        remedy="take the / out, or skip whole passages by a program of their own",
        machines=ANY,
        watch=SkipOnLine,
        example=Example(
            trips=edited(("Z0.15\nG1 Z-0.1", "/Z0.15\nG1 Z-0.1")), clean=MILLING, sheet=SHEET, machine=MILL
        ),
    ),
    Rule(
        name="code-in-comment",
        severity=WARN,
        what="No block of code stands in a comment.",
        reason="A passage taken out to try something is easily forgotten.",
        remedy="take it out for good, or put it back",
        machines=ANY,
        follows=False,
        watch=CodeInComment,
        example=Example(
            trips=edited(("G41 D1 X0. F40.\nX2.\n", "G41 D1 X0. F40.\n(G1 X1. F10.)\nX2.\n")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
        ),
    ),
)
