"""How deep each tool goes: against its cutting edges, and against the lowest Z that is stated for it."""

import re
from dataclasses import replace

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE, WARN
from tracker.checks.rule import Example, Rule
from tracker.checks.rules.header import head_comments
from tracker.checks.trail import is_cut, is_work
from tracker.checks.watch import Stretch, Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move

_NOTED = re.compile(
    r"\bT0*(?P<tool>\d+)\b.*?\bZ ?MIN\b ?[=:]? ?(?P<z>[-+]?(?:\d+\.?\d*|\.\d+))", re.IGNORECASE
)
_ROUNDED_MM = 0.01


class FluteShort(Watch):
    """The depth of one pass of each tool: from the top of the stock, or from where it has cut before."""

    def begin(self, control: Control) -> None:
        """Nothing cut so far."""
        self._reached: dict[int, float] = {}
        self._told: set[int] = set()
        self._silent: dict[str, None] = {}

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A cut."""
        low, _ = self.trail.reach(move, 2, control)
        if is_cut(move) and low is not None:
            self._pass(block, low, low, control)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        low, high = stretch.low[2], stretch.high[2]
        if low is not None and high is not None:
            self._pass(stretch.lowest, low, high if stretch.moves > 1 else low, control)

    def _pass(self, block: Block, low: float, high: float, control: Control) -> None:
        tool, stock = self.subject.tool(self.trail.tool), self.subject.operation.stock
        if tool is None or tool.number in self._told:
            return
        if tool.flute_length is None:
            self._silent[f"T{tool.number}"] = None
            return
        if stock is None or stock.top is None:
            self.unknown("stock top is not stated on the setup sheet", block)
            return
        before = self._reached.get(tool.number, self.of_sheet(stock.top, control))
        self._reached[tool.number] = min(before, low)
        edges, deep = self.of_sheet(tool.flute_length, control), before - low
        if deep <= edges + 1e-9:
            return
        self._told.add(tool.number)
        if low != high:
            self.unknown(f"in how many passes T{tool.number} goes down within a row of cuts", block)
        else:
            self.found(
                block,
                f"cuts from Z{fig(before)} to Z{fig(low)} in one pass with cutting edges of {fig(edges)}, "
                f"needed {fig(deep)}, {fig(deep - edges)} short",
            )

    def end(self, control: Control) -> None:
        """What the sheet does not say."""
        if self._silent:
            self.unknown(f"flute_length of {', '.join(self._silent)} is not stated on the setup sheet")


class LowestZ(Watch):
    """The lowest Z of each tool against lowest_z of the sheet, else against ``T3 ... ZMIN=-1.2`` in the head."""

    def begin(self, control: Control) -> None:
        """What is stated, and nothing met so far."""
        self._lowest: dict[int, tuple[float, Block, str]] = {}
        self._noted: dict[int, float] = {}
        if self.subject.main.readable:
            for _, _, comment in head_comments(self.subject.main):
                if stated := _NOTED.search(comment):
                    tool, z = int(stated["tool"]), float(stated["z"])
                    self._noted[tool] = min(z, self._noted.get(tool, z))

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A move in the work."""
        if is_work(move):
            self._note(block, self.trail.reach(move, 2, control)[0])

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        self._note(stretch.lowest, stretch.low[2])

    def _note(self, block: Block, z: float | None) -> None:
        tool = self.trail.tool
        if tool is not None and z is not None and (tool not in self._lowest or z < self._lowest[tool][0]):
            self._lowest[tool] = (z, block, self.trail.path(block))

    def end(self, control: Control) -> None:
        """Each tool."""
        silent = []
        for number, (z, block, path) in sorted(self._lowest.items()):
            tool = self.subject.tool(number)
            if tool is not None and tool.lowest_z is not None:
                stated, whose = self.of_sheet(tool.lowest_z, control), "the setup sheet"
            elif number in self._noted:
                stated, whose = self._noted[number], "the head of the program"
            else:
                silent.append(f"T{number}")
                continue
            if z < stated - self.margin(_ROUNDED_MM, control) - 1e-9:
                message = f"to Z{fig(z)}, lowest Z{fig(stated)} by {whose}, {fig(stated - z)} too deep"
                self.found_at(path, block.line, block.text, message, tool=number)
        if silent:
            self.unknown(f"lowest_z of {', '.join(silent)} is not stated on the setup sheet")


_SHORT_EDGES = replace(SHEET, tools=(replace(SHEET.tools[0], flute_length=0.1), SHEET.tools[1]))

RULES = (
    Rule(
        name="flute-short",
        severity=WARN,
        what="No pass goes deeper than the cutting edges are long: from the top of the stock, or from the pass before.",
        reason="The shank rubs in the cut, or chips jam above the flutes: the tool breaks.",
        remedy="cut in more passes, take a tool with longer edges, or waive it where the stock is cut away already",
        watch=FluteShort,
        example=Example(trips=MILLING, clean=MILLING, sheet=SHEET, trips_sheet=_SHORT_EDGES, machine=MILL),
    ),
    Rule(
        name="lowest-z",
        severity=REFUSE,
        what="No tool goes lower than the lowest Z stated for it on the setup sheet, or in the head of the program.",
        reason="Program and sheet are of two minds: the tool goes into vise, parallels or table.",
        remedy="see which one is right, then put the program, lowest_z or the comment right",
        watch=LowestZ,
        example=Example(trips=edited(("Z-0.5", "Z-1.3")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
)
