"""The base of every rule's class: hooks over the run, and the words to speak in."""

from typing import ClassVar, Protocol

from tracker.checks.finding import Finding, NotComputed
from tracker.checks.subject import Subject
from tracker.checks.trail import Trail
from tracker.frozen import dataclass
from tracker.machining.control import Control
from tracker.machining.watch import Block, Event, Move
from tracker.nc.word import Word

MM_IN_INCH = 25.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A row of plain blocks: cutting moves (G1, G2, G3 in force) that only name axes, centres and F.

    Attributes:
        first, last: its ends.
        letters: letters met in it.
        low, high: lowest and highest X, Y and Z of its moves, of their ends and where arcs bulge; None where none is known.
        lowest: the first block that gets down to ``low[2]``.
        moves: how many moves it made.
        fastest: the highest F of a move, and the first block that moves with it; None where none has a known F.
        unfed: the first block that moves with no F known, where none was named in it before; or None.
        halted: the first block that moves with F0, or None.
    """

    first: Block
    last: Block
    letters: frozenset[str]
    low: tuple[float | None, float | None, float | None]
    high: tuple[float | None, float | None, float | None]
    lowest: Block
    moves: int
    fastest: tuple[float, Block] | None
    unfed: Block | None
    halted: Block | None


class About(Protocol):
    """What a rule is called by (`tracker.checks.rule.Rule`)."""

    @property
    def name(self) -> str:
        """Its slug."""

    @property
    def severity(self) -> str:
        """How grave it is."""

    @property
    def remedy(self) -> str:
        """How to put it right."""


class Said:
    """What the rules of one run have said so far."""

    def __init__(self) -> None:
        self.findings: list[Finding] = []
        self.unknown: list[NotComputed] = []
        self.why: set[tuple[str, str]] = set()


class Watch:
    """A rule at work on one run. See the head of this room for the hooks.

    Attributes:
        plain: it must see each block and move of a row of plain ones (it then gets no `stretch`).
        rule, subject, trail: the rule, what is checked, and where the run stands.
    """

    plain: ClassVar[bool] = False

    def __init__(self, rule: About, subject: Subject, trail: Trail, said: Said) -> None:
        self.rule = rule
        self.subject = subject
        self.trail = trail
        self._said = said

    def begin(self, control: Control) -> None:
        """Before the first block."""

    def block(self, block: Block, control: Control) -> None:
        """A block is about to act."""

    def move(self, block: Block, move: Move, control: Control) -> None:
        """The tool moves, or waits."""

    def tool(self, block: Block, control: Control) -> None:
        """Another tool has come into the spindle; the trail knows it."""

    def event(self, block: Block, event: Event, control: Control) -> None:
        """Something else happens."""

    def acted(self, block: Block, control: Control) -> None:
        """The block has acted."""

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """A row of plain blocks has acted."""

    def end(self, control: Control) -> None:
        """The run is over."""

    def found(
        self, block: Block | None, message: str, *, tool: int | None = None, remedy: str | None = None
    ) -> None:
        """A finding at a block (None: about the whole); ``tool`` and ``remedy`` where not those at hand."""
        if block is None:
            self.found_at(None, None, "", message, tool=tool, remedy=remedy)
            return
        number = self.trail.tool if tool is None else tool
        self.found_at(self.trail.path(block), block.line, block.text, message, tool=number, remedy=remedy)

    def found_at(
        self,
        path: str | None,
        line: int | None,
        text: str,
        message: str,
        *,
        tool: int | None = None,
        remedy: str | None = None,
    ) -> None:
        """A finding at a line of a file."""
        self._said.findings.append(
            Finding(
                rule=self.rule.name,
                severity=self.rule.severity,
                message=message if tool is None else f"T{tool}: {message}",
                remedy=remedy or self.rule.remedy,
                operation=self.subject.operation.id,
                machine=self.subject.machine.id if self.subject.machine else None,
                file=path,
                line=line,
                text=text,
                tool=None if tool is None else str(tool),
            )
        )

    def absent(self, block: Block, message: str, *, tool: int | None = None) -> None:
        """A finding that rests on something not being there; behind a call not followed it cannot be told.

        That the run was not followed is said for the rule anyway.
        """
        if self.trail.blind is None:
            self.found(block, message, tool=tool)

    def unknown(self, why: str, block: Block | None = None) -> None:
        """Say that the rule cannot tell, and why."""
        path = self.trail.path(block) if block else None
        self.unknown_at(why, path, block.line if block else None)

    def unknown_at(self, why: str, path: str | None, line: int | None) -> None:
        """The same, at a line of a file; a reason is said once a run."""
        if (self.rule.name, why) in self._said.why:
            return
        self._said.why.add((self.rule.name, why))
        self._said.unknown.append(
            NotComputed(
                rule=self.rule.name,
                why=why,
                operation=self.subject.operation.id,
                machine=self.subject.machine.id if self.subject.machine else None,
                file=path,
                line=line,
            )
        )

    def margin(self, mm: float, control: Control) -> float:
        """A margin in mm in the units of the run (as it is where those are not known: then nothing is inch)."""
        return mm / MM_IN_INCH if control.base == "inch" else mm

    def written(self, word: Word, control: Control) -> float | None:
        """The figure of a length word as the machine reads it, in units in force; None by variable or expression."""
        digits = word.number.lstrip("+")
        if not digits.lstrip("-").replace(".", "", 1).isdigit():
            return None
        machine = self.subject.machine
        smallest = machine is not None and machine.decimal == "increment" and "." not in digits
        step = (0.0001 if control.units == "inch" else 0.001) if smallest else 1.0
        return float(digits) * step

    def of_sheet(self, figure: float, control: Control) -> float:
        """A length of the sheet in the units of the run."""
        return converted(figure, self.subject.operation.units, control.base)

    def of_machine(self, figure: float, control: Control) -> float:
        """A length of the machine in the units of the run."""
        machine = self.subject.machine
        return converted(figure, machine.units if machine else None, control.base)


def converted(figure: float, units: str | None, to: str | None) -> float:
    """A length in other units; the same where either is not known."""
    if units == to or units is None or to is None:
        return figure
    return figure * MM_IN_INCH if to == "mm" else figure / MM_IN_INCH


def fig(number: float) -> str:
    """A figure as people write it: at most four places, no zeros behind: ``0.5``, ``-1.16``, ``3000``."""
    text = f"{number:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
