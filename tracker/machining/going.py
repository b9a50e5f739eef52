"""Where a row of plain motion lines has got to: the figures a quick lane goes on from and hands back."""

from collections.abc import Sequence
from dataclasses import dataclass

Passed = tuple[str, int, tuple[float, float, float], tuple[float, float, float], int, float, int]


@dataclass(slots=True)
class Going:
    """What is in force, where the tool stands, and the sums so far; lengths in base units.

    Attributes:
        motion: 0, 1, 2 or 3.
        plane: first, second and third axis by place: 0 1 2 (G17), 2 0 1 (G18), 1 2 0 (G19).
        absolute: G90; arc_absolute: G90.1.
        points: a length without a point (that is not 0) is not for the lane.
        factor: what a figure as written is multiplied with to be in base units.
        feed: F in force; 0: none.
        tolerance: how far a radius may fall short of an arc; mismatch: how far its radii may differ.
        here: X Y Z.
        low, high: of feed moves so far.
        cutting, rapid, minutes: sums so far.
        lowest_rapid: Z of rapids across.
        feeds: lowest and highest F of feed moves.
        moved: a move was made; cut: a feed move was; risen: a rapid moved Z.
        passed: what the compiled walker met: letters, moves, lowest and highest X Y Z of their ends and bulges, the byte at
            which the line begins that gets lowest, the highest F of a move and the byte at which its first line begins.
    """

    motion: int
    plane: tuple[int, int, int]
    absolute: bool
    arc_absolute: bool
    points: bool
    factor: float
    feed: float
    tolerance: float
    mismatch: float
    here: list[float]
    low: list[float]
    high: list[float]
    cutting: float
    rapid: float
    minutes: float
    lowest_rapid: float
    feeds: list[float]
    moved: bool = False
    cut: bool = False
    risen: bool = False
    passed: Passed | None = None

    def reach(self, axis: int, one: float) -> None:
        """A feed move touches this coordinate."""
        if one < self.low[axis]:
            self.low[axis] = one
        if one > self.high[axis]:
            self.high[axis] = one

    def feed_at(self, feed: float) -> None:
        """A feed move is made with this F."""
        if feed < self.feeds[0]:
            self.feeds[0] = feed
        if feed > self.feeds[1]:
            self.feeds[1] = feed

    def pass_over(self, start: Sequence[float], end: Sequence[float]) -> None:
        """A rapid is made: it counts at its lowest if it goes across."""
        if start[0] != end[0] or start[1] != end[1]:
            self.lowest_rapid = min(self.lowest_rapid, start[2], end[2])
