"""Coolant: on before the first cut, off before the tool goes, through the spindle only where the tool is made for it."""

import re

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import WARN
from tracker.checks.rule import Example, Rule
from tracker.checks.standing import is_probe
from tracker.checks.trail import is_cut
from tracker.checks.watch import Stretch, Watch
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move

_ON = frozenset(("M7", "M8", "M13", "M14", "M88"))
_ENDS = frozenset(("M2", "M30"))
_THROUGH = "M88"
_KNOWN_M = frozenset(
    f"M{code}" for code in (*range(10), 13, 14, 19, 29, 30, 41, 42, 43, 44, 88, 89, 97, 98, 99)
)
_DRY = re.compile(r"\b(?:DRY|AIR|TROCKEN|LUFT)\b", re.IGNORECASE)
_PROBING = ("G31", "G36", "G37", "G38")


class NoCoolant(Watch):
    """A tool that cuts before M7 or M8; told once a tool."""

    def begin(self, control: Control) -> None:
        """Nothing told so far."""
        self._told = False

    def tool(self, block: Block, control: Control) -> None:
        """Each tool by itself."""
        self._told = False

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A feed move that is no probing."""
        if not self._told and is_cut(move) and not move.code.startswith(_PROBING):
            self._judge(block, control)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        if not self._told:
            self._judge(stretch.first, control)

    def _judge(self, block: Block, control: Control) -> None:
        if self.trail.change is None or control.coolant or self.trail.restated & _ON:
            return
        self._told = True
        tool = self.subject.tool(self.trail.tool)
        words = [tool.description or "" if tool else "", *self.trail.change.comments]
        if is_probe(tool, self.trail.change) or any(_DRY.search(word) for word in words):
            return
        builders = sorted(
            code for code in self.trail.since if code[0] == "M" and code[1:] and code not in _KNOWN_M
        )
        if builders:
            self.unknown(f"{builders[0]} is a code of the builder's and may be coolant", block)
        else:
            self.absent(block, "cuts with neither M7 nor M8 since its change")


class CoolantLeftOn(Watch):
    """Coolant at a tool change or the end, which takes it off by itself: asked before the block acts."""

    def block(self, block: Block, control: Control) -> None:
        """A change, or the end."""
        codes = self.trail.codes
        if not control.coolant or "M9" in codes:
            return
        where = "the tool change" if "M6" in codes else min(codes & _ENDS, default="")
        if where:
            self._tell(block, where, control)

    def tool(self, block: Block, control: Control) -> None:
        """A change by T alone."""
        if control.coolant and not self.trail.codes & {"M6", "M9"}:
            self._tell(block, "the tool change", control)

    def _tell(self, block: Block, where: str, control: Control) -> None:
        self.found(block, f"M{min(control.coolant)} is still on at {where}; needed: M9 before it")


class ThroughUnmarked(Watch):
    """M88 with a tool the sheet does not mark for it."""

    def acted(self, block: Block, control: Control) -> None:
        """A block with the code."""
        if _THROUGH not in self.trail.codes:
            return
        tool = self.subject.tool(self.trail.tool)
        if tool is not None and not tool.through_coolant:
            self.found(block, "M88, coolant through the spindle, and the sheet does not mark the tool for it")


RULES = (
    Rule(
        name="no-coolant",
        severity=WARN,
        what="Every tool that cuts has M7 or M8 before it, unless its description says DRY or AIR.",
        reason="The tool burns, or chips weld to it.",
        remedy="write M8 with G43, or say DRY in the tool's description",
        watch=NoCoolant,
        example=Example(trips=edited(("Z1. M8", "Z1.")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="coolant-left-on",
        severity=WARN,
        what="M9 stands before a tool change and before the end.",
        reason="Coolant runs into the taper and the magazine, or goes on when the door is opened.",
        remedy="write M9 with the retract",
        watch=CoolantLeftOn,
        example=Example(trips=edited(("Z1. M9", "Z1.")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="through-coolant-unmarked",
        severity=WARN,
        what="Coolant through the spindle (M88) is called for tools only which the sheet marks for it.",
        reason="Without a hole through tool, holder and pull stud the pressure finds no way out.",
        remedy="write through_coolant = true at the tool where it is so, else M8",
        watch=ThroughUnmarked,
        example=Example(trips=edited(("Z1. M8", "Z1. M88")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
)
