"""The way a program takes, as points: what a drawing is made from.

Strands of rapids and of feed moves by tool section, in the program's units and in the coordinates of the work offset
in force (on a lathe X is a diameter). Arcs are chords within a tolerance, with the bulges among their points, so that
a tool's strands reach exactly as far as `tracker.machining.summary` says. What cannot be drawn is counted.
"""

from collections.abc import Callable

from tracker.frozen import dataclass, field, replace
from tracker.machining.path_thin import Point, thinned
from tracker.machining.path_watch import Gatherer
from tracker.machining.run_through import run
from tracker.machining.setting import Setting
from tracker.machining.summarise import changes_by_t, judge_lathe
from tracker.machining.watch import Block
from tracker.nc.canonical import Reading

MOST_BLOCKS = 2_000_000
"""Blocks after which a drawing is left, and says so."""

Mark = int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PathTool:
    """A tool section: its tool as the summary calls it (None before the first change) and the line of its change."""

    tool: str | None
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Strand:
    """A run of moves of one kind in one section: ``points`` X Y Z; ``mark`` of the lines that make them."""

    section: int
    rapid: bool
    mark: Mark
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolPath:
    """A whole program's way.

    Attributes:
        units: ``inch``, ``mm`` or None where the text does not say.
        lathe: X is a diameter and Y is none.
        tools: tool sections in order; `Strand.section` counts in them.
        strands: in order.
        holes: X Y Z of the bottom of every hole of a drilling cycle, with its section and mark.
        rapids, feeds: moves met; rapids_left, feeds_left: of them those that are not drawn, since a place is not known.
        machine_moves: moves in machine coordinates, which have no place in the drawing.
        turns: a rotary axis turns somewhere; it is not drawn.
        offsets: work offsets in force while something moved, in order.
        not_followed: as in the summary.
    """

    units: str | None
    lathe: bool
    tools: tuple[PathTool, ...]
    strands: tuple[Strand, ...]
    holes: tuple[tuple[int, Mark, Point], ...] = ()
    rapids: int = 0
    feeds: int = 0
    rapids_left: int = 0
    feeds_left: int = 0
    machine_moves: int = 0
    turns: bool = False
    offsets: tuple[str, ...] = ()
    not_followed: tuple[str, ...] = field(default_factory=tuple)

    @property
    def points(self) -> int:
        """How many points it has."""
        return sum(len(strand.points) for strand in self.strands)

    def reach(self, *, rapid: bool, section: int | None = None) -> tuple[Point, Point] | None:
        """Lowest and highest X Y Z of the strands of a kind; None where there is none."""
        own = [
            point
            for one in self.strands
            if one.rapid == rapid and section in (None, one.section)
            for point in one.points
        ]
        if not own:
            return None
        xs, ys, zs = zip(*own, strict=True)
        return (min(xs), min(ys), min(zs)), (max(xs), max(ys), max(zs))


def tool_path(
    data: bytes,
    setting: Setting,
    reading: Reading,
    *,
    tolerance: float,
    mark: Callable[[Block], Mark],
) -> ToolPath:
    """Run a program through and gather its way.

    Args:
        data: its bytes.
        setting: what is known of the machine and of the programs it calls.
        reading: its reading.
        tolerance: how far a chord may lie from its arc, and a point that is left out from its strand; a length.
        mark: of a block; strands are told apart by it.
    """
    lathe, _ = judge_lathe(reading, setting)
    setting = replace(
        setting,
        lathe=lathe,
        t_changes=not lathe and changes_by_t(reading),
        most_blocks=min(setting.most_blocks, MOST_BLOCKS),
    )
    found = Gatherer(tolerance, mark)
    control = run(data, setting, (found,))
    found.close()
    return ToolPath(
        units=control.base or control.units or setting.units,
        lathe=lathe,
        tools=tuple(PathTool(tool=tool, line=line) for tool, line in found.tools),
        strands=tuple(
            Strand(section=section, rapid=rapid, mark=marked, points=points)
            for section, rapid, marked, points in found.strands
        ),
        holes=tuple(found.holes),
        rapids=found.met[True],
        feeds=found.met[False],
        rapids_left=found.left[True],
        feeds_left=found.left[False],
        machine_moves=found.machine_moves,
        turns=found.turns,
        offsets=tuple(found.offsets),
        not_followed=tuple(found.not_followed),
    )


def within(path: ToolPath, most: int, tolerance: float) -> tuple[ToolPath, float]:
    """The path with about ``most`` points at the most, and the tolerance that took; reach of each section as before.

    Strands that cannot be told from one another at that tolerance are drawn once, unless they reach further than all
    others of their section.
    """
    step = tolerance
    strands = path.strands
    for _ in range(40):
        if sum(len(one.points) for one in strands) <= most:
            break
        step *= 2
        strands = _once_each(
            tuple(replace(one, points=thinned(one.points, step)) for one in strands), step * 2
        )
    return replace(
        path, strands=strands, holes=_holes(path.holes, step * 2 if step > tolerance else 0.0)
    ), step


def _once_each(strands: tuple[Strand, ...], cell: float) -> tuple[Strand, ...]:
    """Strands that run through the same cells only once; those that hold a section's extremes stay."""
    ends: dict[tuple[int, bool], list[float]] = {}
    for one in strands:
        low_high = ends.setdefault((one.section, one.rapid), [float("inf")] * 3 + [float("-inf")] * 3)
        for point in one.points:
            for axis in range(3):
                low_high[axis] = min(low_high[axis], point[axis])
                low_high[axis + 3] = max(low_high[axis + 3], point[axis])
    seen: set[object] = set()
    kept = []
    for one in strands:
        key = (one.section, one.rapid, one.mark, tuple(_cell(point, cell) for point in one.points))
        # asked of every strand: an extreme is ticked off at the first one that holds it
        news = _news(one, ends[one.section, one.rapid])
        if news or key not in seen:
            kept.append(one)
        seen.add(key)
    return tuple(kept)


def _news(strand: Strand, ends: list[float]) -> bool:
    """Whether the strand is the first met that holds one of the extremes; each is ticked off once."""
    found = False
    for point in strand.points:
        for place in range(6):
            if point[place % 3] == ends[place]:
                ends[place] = float("nan")
                found = True
    return found


def _cell(point: Point, cell: float) -> tuple[int, int, int]:
    return round(point[0] / cell), round(point[1] / cell), round(point[2] / cell)


def _holes(holes: tuple[tuple[int, Mark, Point], ...], cell: float) -> tuple[tuple[int, Mark, Point], ...]:
    if not cell:
        return holes
    return tuple({(at, mark, _cell(point, cell)): (at, mark, point) for at, mark, point in holes}.values())
