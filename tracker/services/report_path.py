"""The tool path of a revision and of the one before, with the lines that changed marked by their place."""

from collections.abc import Callable, Iterable, Mapping, Sequence

from tracker.frozen import dataclass
from tracker.machining.path import ToolPath, tool_path, within
from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise
from tracker.machining.summary import Summary
from tracker.machining.watch import Block
from tracker.nc.dialect import WORD_ADDRESS
from tracker.nc.scan import read
from tracker.records.shop import Shop
from tracker.services.call_lookup import numbers_of
from tracker.services.effect_of_pairs import settings_of
from tracker.services.program_text import ProgramText
from tracker.services.report_places import MOST_PLACES, Place
from tracker.services.revision_text import RevisionText

MOST_POINTS = 40_000
"""Points of one path: more cannot be told apart on a screen, and a page stays small."""
FINE = 4000
"""The size of a part is told apart into this many steps."""
MOST_BYTES = 25_000_000
"""A main program longer than this is not drawn."""
OTHER = 0
"""Mark of lines that changed at a place that is not listed: drawn as changed, and not to be picked."""

AFTER, BEFORE = "after", "before"


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """The way of the main program and what it calls.

    ``side`` is ``after`` or ``before``; ``file`` the main program's name; ``path`` None where it is not drawn, and
    ``why`` then says why; ``tolerance`` how far a point left out may lie from the way, in the program's units.
    """

    side: str
    file: str
    summary: Summary | None = None
    path: ToolPath | None = None
    tolerance: float = 0.0
    why: str = ""


def drawing(
    shop: Shop, old: RevisionText | None, new: RevisionText, places: Sequence[Place]
) -> tuple[Drawing, ...]:
    """The drawings, before and after; none of before where there is no older revision. ``places``: every one."""
    before, after = settings_of(shop, old or new, new)
    found = [] if old is None else [_drawn(BEFORE, old.programs, before, _lines(places, new=False))]
    return (*found, _drawn(AFTER, new.programs, after, _lines(places, new=True)))


def _lines(places: Iterable[Place], *, new: bool) -> dict[tuple[str, int], int]:
    """(file, line) -> place, of one side."""
    found: dict[tuple[str, int], int] = {}
    for place in places:
        side = place.new if new else place.old
        if side is not None:
            number = place.number if place.number <= MOST_PLACES else OTHER
            found.setdefault((place.file.upper(), side.line), number)
    return found


def _drawn(
    side: str, programs: Sequence[ProgramText], setting: Setting, marks: Mapping[tuple[str, int], int]
) -> Drawing:
    main = programs[0]
    if len(main.data) > MOST_BYTES:
        return Drawing(side=side, file=main.name, why="the program is too long to be drawn")
    reading = read(main.data)
    if reading.dialect != WORD_ADDRESS:
        return Drawing(side=side, file=main.name, why="the text is not in word-address form")
    summary = summarise(main.data, setting)
    tolerance = _size(summary) / FINE
    path = tool_path(main.data, setting, reading, tolerance=tolerance, mark=_marker(programs, marks))
    thin, tolerance = within(path, MOST_POINTS, tolerance)
    why = "" if thin.strands else "no move of it has both ends known"
    return Drawing(
        side=side,
        file=main.name,
        summary=summary,
        path=thin if thin.strands else None,
        tolerance=tolerance,
        why=why,
    )


def _size(summary: Summary) -> float:
    """The longest side of what feed moves reach; 1 where there is none."""
    sides = [
        span[1] - span[0] for tool in summary.tools for span in (tool.x, tool.y, tool.z) if span is not None
    ]
    return max(sides, default=0.0) or 1.0


def _marker(
    programs: Sequence[ProgramText], marks: Mapping[tuple[str, int], int]
) -> Callable[[Block], int | None]:
    """The place of a block, by the file it stands in and its line there."""
    main = programs[0].name.upper()
    files: dict[int, str] = {}
    for program in reversed(programs):  # the main program's own numbers count before those of others
        files |= dict.fromkeys(numbers_of(program.path, program.data), program.name.upper())

    def mark(block: Block) -> int | None:
        file = main if not block.depth or block.program is None else files.get(block.program, main)
        return marks.get((file, block.line))

    return mark
