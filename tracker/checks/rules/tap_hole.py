"""A tapped hole against the hole that was drilled for it in the same program."""

from dataclasses import replace

from tracker.checks.examples import MILL, SHEET, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import Example, Rule
from tracker.checks.rules.stick_out import point_of
from tracker.checks.rules.tapping import pitch_of
from tracker.checks.watch import Watch, converted, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move
from tracker.records.job import Tool

_DRILLING = frozenset(("G73", "G81", "G82", "G83"))
_TAPPING = frozenset(("G74", "G84"))
_TURNS = 3

_Place = tuple[float, float, str | None]


class TapNearBottom(Watch):
    """Each tapped hole: how deep it is drilled at its full diameter there; told once a tap."""

    def begin(self, control: Control) -> None:
        """No hole so far."""
        self._drilled: dict[_Place, tuple[float, float]] = {}
        self._told: set[int] = set()

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A move of a cycle."""
        if move.code not in _DRILLING and not (move.code in _TAPPING and move.hole):
            return
        x, y, z = move.end[:3]
        tool = self.subject.tool(self.trail.tool)
        if x is None or y is None or z is None or tool is None:
            return
        place = (round(x, 3), round(y, 3), control.offset)
        if move.code in _DRILLING:
            point = point_of(tool)
            if point is not None:
                full = z + self.of_sheet(point[1], control)
                self._drilled[place] = min((full, z), self._drilled.get(place, (full, z)))
        elif tool.number not in self._told:
            self._judge(block, tool, z, place, control)

    def _judge(self, block: Block, tool: Tool, z: float, place: _Place, control: Control) -> None:
        pitch = pitch_of(tool.description or "")
        if place not in self._drilled:
            self.unknown(f"no drilled hole is known where T{tool.number} taps", block)
            return
        if pitch is None or control.base is None:
            self.unknown(f"pitch of T{tool.number}, or units, are not known", block)
            return
        full = self._drilled[place][0]
        needed = z - _TURNS * converted(pitch, "mm", control.base)
        if full <= needed + 1e-9:
            return
        stock = self.subject.operation.stock
        if stock is None or stock.bottom is None:
            self.unknown("bottom of the stock is not stated: whether the hole goes through", block)
        elif full > self.of_sheet(stock.bottom, control) + 1e-9:
            self._told.add(tool.number)
            self.found(
                block,
                f"taps to Z{fig(z)} in a hole drilled at its full diameter to Z{fig(full)}, needed Z{fig(needed)} "
                f"({_TURNS} turns deeper), {fig(full - needed)} too shallow",
            )


_TAP = Tool(
    number=3,
    description="1/4-20 TAP",
    diameter=0.25,
    stick_out=1.5,
    flute_length=1.0,
    length=5.0,
    weight=4.0,
    lowest_z=-0.3,
)
_TAPPED = edited(
    ("T2 M6\nT1", "T2 M6\nT3"),
    (
        "G0 Z1. M9\nM5\nG91 G28 Z0.\nG28 Y0.",
        (
            "G0 Z1. M9\nM5\nG91 G28 Z0.\nG90\n(1/4-20 TAP)\nT3 M6\nT1\nG0 G17 G40 G80 G90 G54 X1. Y1. S500 M3\n"
            "G43 H3 Z1. M8\nG98 G84 X1. Y1. Z-0.25 R0.2 F25.\nX2.\nG80\nG0 Z1. M9\nM5\nG91 G28 Z0.\nG28 Y0."
        ),
    ),
)

RULES = (
    Rule(
        name="tap-near-bottom",
        severity=REFUSE,
        what="A blind hole is drilled at its full diameter three turns of the thread deeper than it is tapped.",
        reason="The tap runs onto the bottom, or onto the chips on it, and breaks in the hole.",
        remedy="drill deeper or tap less deep; where the hole goes through, state bottom of the stock",
        watch=TapNearBottom,
        example=Example(
            trips=edited(("Z-0.25", "Z-0.3"), text=_TAPPED).replace(
                "G98 G81 X1. Y1. Z-0.5", "G98 G81 X1. Y1. Z-0.45"
            ),
            clean=_TAPPED,
            sheet=replace(SHEET, tools=(*SHEET.tools, _TAP)),
            machine=MILL,
        ),
    ),
)
