"""A watcher that sums up what every tool does."""

from tracker.machining.axes import LINEAR
from tracker.machining.control import Control
from tracker.machining.feeds import INVERSE, PER_MINUTE
from tracker.machining.reach import bulges
from tracker.machining.summary import Summary
from tracker.machining.sums import Sums
from tracker.machining.tally_speed import speeds_of
from tracker.machining.watch import DWELL, RAPID, Block, Event, Move

MOST_NAMED = 500
"""Lines of what is not followed that are kept; further ones are counted. Also of tool changes in their order."""


class Tally:
    """Sums by tool, in order of first use, and what is told of the program as a whole.

    Attributes:
        max_rpm: highest speed of the machine, where it is known.
        here: sums of the tool in hand: a quick lane may go on from them.
        blocks: blocks run.
        own: tools that were first changed to in the main program, so that their lines are lines of its file.
    """

    def __init__(self, max_rpm: float | None = None) -> None:
        self.max_rpm = max_rpm
        self.here = Sums(tool=None)
        self.blocks = 0
        self.own: set[str | None] = set()
        self._by_tool: dict[str | None, Sums] = {None: self.here}
        self._order: list[str] = []
        self._stops: dict[tuple[int, str], str | None] = {}
        self._calls: dict[int, int] = {}
        self._written: dict[tuple[int, str], None] = {}
        self._not_followed: dict[str, None] = {}
        self._more = 0
        self._guesses: dict[str, None] = {}
        self._before: tuple[str, ...] = ()

    # What is watched

    def block(self, block: Block, control: Control) -> None:  # noqa: ARG002 - a watcher is handed both
        """A block is about to act."""
        self.blocks += 1

    def acted(self, block: Block, control: Control) -> None:  # noqa: ARG002 - a watcher is handed both
        """The block has acted."""
        self._before = block.comments

    def move(self, block: Block, move: Move, control: Control) -> None:  # noqa: ARG002 - a watcher is handed all
        """The tool moves, or waits."""
        sums = self.here
        if move.kind == DWELL:
            sums.dwell += move.minutes or 0.0
            return
        if not move.machine:
            _used(sums, move, control)
        if move.kind == RAPID:
            if move.length is not None:
                sums.rapid += move.length
            if not move.machine:
                _low_rapid(sums, move)
            return
        if move.length is not None:
            sums.cutting += move.length
        if move.minutes is not None:
            sums.minutes += move.minutes
            sums.timed = True
        sums.holes += move.hole
        if not move.machine:
            _reach(sums, move, lathe=control.lathe)
        _cut(sums, move, control, self.max_rpm)

    def row(self, control: Control, *, lines: int, moved: bool, cut: bool, plunged: bool) -> None:
        """Lines of a row were run, and `here` was brought up to date but for what is in force meanwhile.

        Args:
            control: what is in force.
            lines: how many; each is a block.
            moved: there was a move.
            cut: there was a feed move.
            plunged: there was a feed move, or one of Z.
        """
        self.blocks += lines
        self._before = ()
        sums = self.here
        if moved:
            _offsets(sums, control, length=plunged)
        if cut:
            sums.timed = True
            sums.feed_modes.add(PER_MINUTE)
            if control.speed is not None and not control.surface:
                _widen(
                    sums.speeds, control.speed if self.max_rpm is None else min(control.speed, self.max_rpm)
                )

    def event(self, block: Block, event: Event, control: Control) -> None:
        """Something else happens."""
        what, value = event.what, event.value
        if what == "tool":
            self._change(block, value, lathe=control.lathe)
        elif what == "stop":
            self._stops.setdefault((block.line, value), self.here.tool)
        elif what == "call":
            self._call(value, event.detail)
        elif what == "offset-written":
            self._written[block.line, value] = None
        elif what == "guess":
            self._guesses[value] = None
        elif what == "not-followed" and value not in self._not_followed:
            if len(self._not_followed) < MOST_NAMED:
                self._not_followed[value] = None
            else:
                self._more += 1

    def _change(self, block: Block, value: str, *, lathe: bool) -> None:
        tool = value or None
        sums = self._by_tool.get(tool)
        if sums is None:
            texts = block.comments[-1:] or self._before[:1]
            sums = Sums(
                tool=spelled(block, tool, lathe=lathe),
                line=block.line,
                number=block.number,
                description=next(iter(texts), None),
            )
            self._by_tool[tool] = sums
            if not block.depth:
                self.own.add(sums.tool)
        sums.sections += 1
        self.here = sums
        if sums.tool is not None and self._order[-1:] != [sums.tool] and len(self._order) < MOST_NAMED:
            self._order.append(sums.tool)

    def _call(self, value: str, detail: str) -> None:
        if value.isdigit():
            times = int(detail) if detail.isdigit() else 1
            self._calls[int(value)] = self._calls.get(int(value), 0) + times

    # What is told

    def summary(self, *, units: str | None, lathe: bool, guesses: tuple[str, ...] = ()) -> Summary:
        """What the program did up to here."""
        used = [one for one in self._by_tool.values() if one.tool is not None or one.did_something]
        timed = [one.minutes for one in used if one.timed]
        named = [*self._not_followed]
        if self._more:
            named.append(f"and {self._more} more")
        return Summary(
            units=units,
            lathe=lathe,
            tools=tuple(one.told() for one in used),
            order=tuple(self._order),
            stops=tuple(self._stops),
            stops_of=tuple(self._stops.values()),
            calls=tuple(self._calls.items()),
            offsets_written=tuple(self._written),
            cutting_length=sum((one.cutting for one in used), 0.0),
            rapid_length=sum((one.rapid for one in used), 0.0),
            cutting_minutes=sum(timed) if timed else None,
            dwell_minutes=sum((one.dwell for one in used), 0.0),
            blocks=self.blocks,
            not_followed=tuple(named),
            guesses=(*guesses, *self._guesses),
        )


def spelled(block: Block, tool: str | None, *, lathe: bool) -> str | None:
    """A tool as people call it: on a lathe its T as written (``0101``), which says the offset with the station."""
    if lathe and tool is not None:
        written = [word.number for word in block.words if word.letter == "T" and word.number.isdigit()]
        return written[-1] if written else tool
    return tool


def _used(sums: Sums, move: Move, control: Control) -> None:
    """Offsets in force while the tool moves; a tool length only where Z travels or material may be cut.

    Between a tool change and its own G43 the length of the tool before is still in force, and means nothing.
    """
    _offsets(sums, control, length=move.kind != RAPID or move.start[2] != move.end[2])


def _offsets(sums: Sums, control: Control, *, length: bool) -> None:
    """The same; ``length`` says whether the tool length means something."""
    if control.offset is not None:
        sums.offsets[control.offset] = None
    if control.lathe:
        if control.tool_offset:
            sums.h.add(control.tool_offset)
    elif length and control.h is not None and control.length in ("43", "44"):
        sums.h.add(control.h)
    if control.d is not None and control.radius in ("41", "42"):
        sums.d.add(control.d)


def _low_rapid(sums: Sums, move: Move) -> None:
    """Rapids across count at their lowest; an axis that comes from where it was not known travels."""
    start, end = move.start, move.end
    if start[0] == end[0] and start[1] == end[1]:
        return
    for z in (start[2], end[2]):
        if z is not None and z < sums.lowest_rapid:
            sums.lowest_rapid = z


def _reach(sums: Sums, move: Move, *, lathe: bool) -> None:
    """What a feed move touches: its ends, and the bulges of an arc."""
    start, end, low, high = move.start, move.end, sums.low, sums.high
    for axis in range(LINEAR):
        for one in (start[axis], end[axis]):
            if one is not None:
                if one < low[axis]:
                    low[axis] = one
                if one > high[axis]:
                    high[axis] = one
    for axis, lowest, highest in bulges(move, lathe=lathe):
        sums.reach(axis, lowest)
        sums.reach(axis, highest)


def _cut(sums: Sums, move: Move, control: Control, max_rpm: float | None) -> None:
    """Speed and feed of a feed move."""
    feed = control.feed
    if control.feed_mode == INVERSE:
        feed = None if feed is None or move.length is None else feed * move.length
    if feed is not None:
        mode = PER_MINUTE if control.feed_mode in (None, INVERSE) else control.feed_mode
        sums.feed_modes.add(mode or PER_MINUTE)
        _widen(sums.feeds, feed)
    for speed in speeds_of(move, control, max_rpm):
        _widen(sums.speeds, speed)


def _widen(bounds: list[float], figure: float) -> None:
    if figure < bounds[0]:
        bounds[0] = figure
    if figure > bounds[1]:
        bounds[1] = figure
