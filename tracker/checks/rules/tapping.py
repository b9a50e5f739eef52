"""Tapping: the feed is the speed times the pitch of the thread the setup sheet names."""

import re
from dataclasses import replace

from tracker.checks.examples import MILL, SHEET, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import Example, Rule
from tracker.checks.watch import MM_IN_INCH, Watch, converted, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move

_TAPPING = frozenset(("G74", "G84"))
_LEAD_MM = 0.02
_PITCH_MM = 0.002
_LEAST_FLOATING = 0.95
_METRIC = re.compile(r"\bM ?(\d+(?:\.\d+)?) ?[X*] ?(\d*\.?\d+)\b", re.IGNORECASE)
_PER_INCH = re.compile(
    r"(?:\b\d+/\d+|\B#\d+|\bNO\.? ?\d+|\b\d*\.\d+|\b\d+) ?- ?(\d+(?:\.\d+)?)(?![\d/])", re.IGNORECASE
)


class TapFeed(Watch):
    """F against S and pitch, hole by hole until it is told; told once a tool."""

    def begin(self, control: Control) -> None:
        """Nothing told so far."""
        self._told = False

    def tool(self, block: Block, control: Control) -> None:
        """Each tool by itself."""
        self._told = False

    def move(self, block: Block, move: Move, control: Control) -> None:
        """The way down of a tapping cycle."""
        if self._told or not move.hole or move.code not in _TAPPING:
            return
        tool = self.subject.tool(self.trail.tool)
        pitch = pitch_of(tool.description or "") if tool else None
        if pitch is None:
            self.unknown(f"the pitch of T{self.trail.tool} is not stated in its description", block)
        elif control.feed is None or control.speed is None or move.start[2] is None or move.end[2] is None:
            self.unknown("F, S or depth of a tapping cycle is not known", block)
        elif control.feed_mode == "inverse":
            self.unknown("tapping under G93", block)
        elif control.base is None:
            self.unknown("units are not stated", block)
        else:
            depth = abs(move.end[2] - move.start[2])
            self._judge(block, control, converted(pitch, "mm", control.base), depth)

    def _judge(self, block: Block, control: Control, pitch: float, depth: float) -> None:
        feed, speed = control.feed or 0.0, control.speed or 0.0
        if control.feed_mode == "per-revolution":
            wrong = abs(feed - pitch) > self.margin(_PITCH_MM, control) + 1e-9
            wanted = pitch
        else:
            wanted = speed * pitch
            error = abs(feed - wanted) / wanted * depth if wanted else depth
            floats = "M29" not in self.trail.restated and _LEAST_FLOATING * wanted <= feed <= wanted
            wrong = error > self.margin(_LEAD_MM, control) + 1e-9 and not floats
        if wrong:
            self._told = True
            off = feed - wanted
            how = "more" if off > 0 else "less"
            self.found(
                block,
                f"F{fig(feed)} with S{fig(speed)}, needed F{fig(wanted)} for its pitch, {fig(abs(off))} {how}",
            )


def pitch_of(description: str) -> float | None:
    """The pitch in mm a tap's description states: ``M8X1.25``, ``1/4-20``, ``#10-32``, ``NO. 8-32``; None without one.

    Two that differ state none.
    """
    found = {round(float(pitch), 6) for _, pitch in _METRIC.findall(description)}
    found |= {
        round(MM_IN_INCH / float(count), 6) for count in _PER_INCH.findall(description) if float(count) >= 4
    }
    found.discard(0.0)
    return found.pop() if len(found) == 1 else None


_TAP_SHEET = replace(
    SHEET, tools=(SHEET.tools[0], replace(SHEET.tools[1], description="1/4-20 TAP", diameter=0.25))
)
_TAPPED = edited(
    ("S4000 M3", "S500 M3"), ("G98 G81", "G98 G84"), ("F12.", "F25."), ("(NO. 7 DRILL)", "(1/4-20 TAP)")
)

RULES = (
    Rule(
        name="tap-feed",
        severity=REFUSE,
        what="The feed of a tapping cycle is S times the pitch the tool's description states.",
        reason="The tap is pulled out of its own thread: it strips the thread or breaks in the hole.",
        remedy="write F as S times pitch (inch: S divided by threads per inch), or F as the pitch under G95",
        source="NISTIR 6556 section 3.5.16.5 for the feed; the tolerances are common practice, no source",
        watch=TapFeed,
        example=Example(
            trips=edited(("F25.", "F50."), text=_TAPPED), clean=_TAPPED, sheet=_TAP_SHEET, machine=MILL
        ),
    ),
)
