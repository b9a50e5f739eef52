"""What a program does, in figures: the answer of ``summary`` and the effect part of ``compare``."""

from tracker.frozen import dataclass

Range = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolSummary:
    """What one tool does; lengths in program units, angles left out, minutes at 100 % without rapids and changes.

    Attributes:
        tool: its number, on a lathe its T as first written (``0101``); None for what runs before the first change.
        description: from the program's own comments.
        line, number: physical line and N of its first tool change, so that a restart can be found.
        h, d: length and radius offsets used, ascending; on a lathe ``h`` holds the wear offsets of its T words.
        offsets: work offsets used, in order of first use.
        rpm_min, rpm_max: of the spindle while feeding (G96: what follows from diameter and limit; None: not known).
        feed_min, feed_max: F of feed moves as said, in the ``feed_mode``; under G93 what follows per minute.
        feed_mode: ``per-minute``, ``per-revolution`` or ``mixed``; None: no F.
        x, y, z: extents of feed moves, start and end points and the bulges of arcs; None: no feed move.
        deepest_cut: lowest Z of a feed move; None: no feed move.
        lowest_rapid: lowest Z of a rapid that moves X or Y in the XY plane; None: none known.
        cutting_length, rapid_length: along the way, known parts only.
        cutting_minutes: None where no part of it can be told.
        holes: holes drilled by cycles.
        sections: how many tool sections it has.
    """

    tool: str | None
    description: str | None
    line: int
    number: str | None
    h: tuple[int, ...]
    d: tuple[int, ...]
    offsets: tuple[str, ...]
    rpm_min: float | None
    rpm_max: float | None
    feed_min: float | None
    feed_max: float | None
    feed_mode: str | None
    x: Range | None
    y: Range | None
    z: Range | None
    deepest_cut: float | None
    lowest_rapid: float | None
    cutting_length: float
    rapid_length: float
    cutting_minutes: float | None
    holes: int
    sections: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """What a whole program does.

    ``not_followed`` holds one line of words for everything that could not be followed, in order of first meeting:
    where it is not empty every total is "at least". ``guesses`` states what was judged and not known ("read as a
    lathe program: G50 S with G96"). ``calls`` are the programs called, in order of first call, with how often;
    ``stops`` (line, ``M0`` or ``M1``), ``stops_of`` the tool of each; ``offsets_written`` (line, block text); ``order`` the tools in order of use.
    """

    units: str | None
    lathe: bool
    tools: tuple[ToolSummary, ...]
    order: tuple[str, ...]
    stops: tuple[tuple[int, str], ...]
    stops_of: tuple[str | None, ...]
    calls: tuple[tuple[int, int], ...]
    offsets_written: tuple[tuple[int, str], ...]
    cutting_length: float
    rapid_length: float
    cutting_minutes: float | None
    dwell_minutes: float
    blocks: int
    not_followed: tuple[str, ...]
    guesses: tuple[str, ...]
