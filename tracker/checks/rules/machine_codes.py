"""Whether the machine has every code a program uses (``codes`` in shop.toml)."""

import re
from collections.abc import Iterable

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.spans import lines_of
from tracker.checks.subject import ProgramIn
from tracker.checks.watch import Watch
from tracker.machining.control import Control
from tracker.nc.codes import code_of
from tracker.nc.word import words
from tracker.records.value_rules import CODES_PATTERN

_STATED = re.compile(CODES_PATTERN)
_MAY_USE = re.compile(r"[GMgm][ \t]*[^ \t]")
_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")


class CodeNotOnMachine(Watch):
    """G and M codes beside the list of the machine."""

    def begin(self, control: Control) -> None:
        """Every line of every program, called ones too: what stands there is meant to run."""
        machine = self.subject.machine
        if machine is None or not machine.codes:
            why = f"no list of codes of {machine.id}" if machine else "no machine: its codes are not known"
            self.unknown(why)
            return
        has = stated_codes(machine.codes)
        for program in self.subject.programs:
            if program.readable:
                self._look(program, has)

    def _look(self, program: ProgramIn, has: frozenset[str]) -> None:
        lines = lines_of(program.data)
        places: dict[str, list[int]] = {}
        for at, line in enumerate(lines, 1):
            if not _MAY_USE.search(line):
                continue
            for code in _codes_of(line):
                if code is None:
                    self.unknown_at("a G or M code by variable or expression", program.path, at)
                elif code not in has:
                    places.setdefault(code, []).append(at)
        for code, met in places.items():
            self._tell(program, lines, code, met)

    def _tell(self, program: ProgramIn, lines: list[str], code: str, places: list[int]) -> None:
        machine = self.subject.machine
        more = "" if len(places) == 1 else f", and on {len(places) - 1} more"
        name = machine.id if machine else "the machine"
        message = f"{code} is not among the codes {name} has (shop.toml){more}"
        self.found_at(program.path, places[0], lines[places[0] - 1], message)


def stated_codes(stated: Iterable[str]) -> frozenset[str]:
    """``G54``, ``G54.1`` and the whole numbers from ``G81`` to ``G89`` of ``["G54", "G54.1", "G81-G89"]``."""
    found: set[str] = set()
    for text in stated:
        match = _STATED.fullmatch(text.strip().upper())
        if match is None:
            continue
        letter, first, _, last = match.groups()
        if last is None:
            found.add(letter + code_of(first))
        else:
            found.update(f"{letter}{number}" for number in range(int(first), int(last) + 1))
    return frozenset(found)


def _codes_of(line: str) -> Iterable[str | None]:
    """The G and M codes of a line, each once; None for one that is not a plain number."""
    found = (word for word in words(line) if word.letter in ("G", "M"))
    return dict.fromkeys(
        word.letter + code_of(word.number) if _NUMBER.fullmatch(word.number) else None for word in found
    )


RULES = (
    Rule(
        name="code-not-on-machine",
        severity=REFUSE,
        what="Every G and M code a program uses is among those the machine has (codes in shop.toml).",
        reason="A code the control does not know stops it in the cut; one it knows for something else does that instead.",
        remedy="post it for this machine, or list the code in codes of the machine once its manual says what it does",
        machines=ANY,
        follows=False,
        watch=CodeNotOnMachine,
        example=Example(
            trips=edited(("G20\n", "G20\nG187 P1\n")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
        ),
    ),
)
