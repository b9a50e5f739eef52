"""What is summed up for one tool while a program runs."""

from dataclasses import dataclass, field

from tracker.machining.axes import LINEAR
from tracker.machining.summary import Range, ToolSummary

ENDLESS = float("inf")


def _high() -> list[float]:
    return [ENDLESS] * LINEAR


def _low() -> list[float]:
    return [-ENDLESS] * LINEAR


@dataclass(slots=True)
class Sums:
    """Sums and extremes of one tool, in the order of its moves; a quick lane may go on from them and hand them back.

    Attributes:
        tool: its number as text; None: before the first tool change.
        line, number, description: of its first tool change.
        low, high: of feed moves by axis X Y Z; endless where there is none.
        lowest_rapid: lowest Z of a rapid across.
        cutting, rapid, minutes, dwell: lengths and minutes, known parts.
        timed: some minutes were told.
        speeds, feeds: lowest and highest; endless where there is none.
        feed_modes: feed modes those F were said in.
        holes, sections: how many.
        h, d, offsets: those used.
    """

    tool: str | None
    line: int = 0
    number: str | None = None
    description: str | None = None
    low: list[float] = field(default_factory=_high)
    high: list[float] = field(default_factory=_low)
    lowest_rapid: float = ENDLESS
    cutting: float = 0.0
    rapid: float = 0.0
    minutes: float = 0.0
    dwell: float = 0.0
    timed: bool = False
    speeds: list[float] = field(default_factory=lambda: [ENDLESS, -ENDLESS])
    feeds: list[float] = field(default_factory=lambda: [ENDLESS, -ENDLESS])
    feed_modes: set[str] = field(default_factory=set)
    holes: int = 0
    sections: int = 0
    h: set[int] = field(default_factory=set)
    d: set[int] = field(default_factory=set)
    offsets: dict[str, None] = field(default_factory=dict)

    def reach(self, axis: int, one: float | None) -> None:
        """A feed move touches this coordinate of an axis."""
        if one is None:
            return
        if one < self.low[axis]:
            self.low[axis] = one
        if one > self.high[axis]:
            self.high[axis] = one

    @property
    def did_something(self) -> bool:
        """Whether anything is known of what was done: a row without a tool says nothing otherwise."""
        return bool(self.cutting or self.rapid or self.dwell or self.timed) or self.low != _high()

    def merge(self, other: "Sums") -> None:
        """Take in what was summed up apart, as if it came after: many moves at once."""
        for axis in range(LINEAR):
            self.low[axis] = min(self.low[axis], other.low[axis])
            self.high[axis] = max(self.high[axis], other.high[axis])
        for mine, theirs in ((self.speeds, other.speeds), (self.feeds, other.feeds)):
            mine[0], mine[1] = min(mine[0], theirs[0]), max(mine[1], theirs[1])
        self.lowest_rapid = min(self.lowest_rapid, other.lowest_rapid)
        self.cutting += other.cutting
        self.rapid += other.rapid
        self.minutes += other.minutes
        self.dwell += other.dwell
        self.timed |= other.timed
        self.holes += other.holes
        self.sections += other.sections
        self.feed_modes |= other.feed_modes
        self.h |= other.h
        self.d |= other.d
        self.offsets |= other.offsets

    def told(self) -> ToolSummary:
        """What the tool does, as it is told."""
        return ToolSummary(
            tool=self.tool,
            description=self.description,
            line=self.line,
            number=self.number,
            h=tuple(sorted(self.h)),
            d=tuple(sorted(self.d)),
            offsets=tuple(self.offsets),
            rpm_min=_known(self.speeds[0]),
            rpm_max=_known(self.speeds[1]),
            feed_min=_known(self.feeds[0]),
            feed_max=_known(self.feeds[1]),
            feed_mode=self._feed_mode(),
            x=self._range(0),
            y=self._range(1),
            z=self._range(2),
            deepest_cut=_known(self.low[2]),
            lowest_rapid=_known(self.lowest_rapid),
            cutting_length=self.cutting,
            rapid_length=self.rapid,
            cutting_minutes=self.minutes if self.timed else None,
            holes=self.holes,
            sections=self.sections,
        )

    def _feed_mode(self) -> str | None:
        if len(self.feed_modes) > 1:
            return "mixed"
        return next(iter(self.feed_modes), None)

    def _range(self, axis: int) -> Range | None:
        return None if self.low[axis] == ENDLESS else (self.low[axis], self.high[axis])


def _known(figure: float) -> float | None:
    return None if abs(figure) == ENDLESS else figure
