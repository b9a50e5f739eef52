"""The tool table of a setup sheet: what the sheet states beside what the program does with each tool.

Figures rules:

1. The deepest cut is the lowest Z of a feed move, in work coordinates; "at least" where something was not followed.
2. What is left is the stick-out less the way from the top of the stock (the work zero where no top is stated) down to
   the deepest cut; "at most" where that is at least. On a lathe Z runs along the bar, and it is not computed.
3. What cannot be told says why.
"""

from collections.abc import Iterable, Mapping, Sequence

from tracker.frozen import dataclass
from tracker.machining.section_list import ToolSection
from tracker.machining.summary import Summary, ToolSummary
from tracker.records.job import Operation, Tool
from tracker.records.shop import Machine

ON_LATHE = "on a lathe Z runs along the bar"
_MM = {"inch": 25.4, "mm": 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A length, or why there is none; ``bound`` is ``at least``, ``at most`` or empty."""

    value: float | None = None
    bound: str = ""
    why: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetTool:
    """A row. Lengths in the operation's units.

    Attributes:
        number: tool number, None where the program's T cannot be read as one.
        called: T words of the program that mean it, as written (``3``, ``0101``); empty: not used by the program.
        h, d, offset: to be entered; H and D are None on a lathe, offset on a mill; D also where nothing uses one.
        large: stated, or wider than the machine's limit: its neighbours stay empty.
        deepest, left: see the module.
        restarts: (line, N or None) of each of its tool changes in the main program.
        disagreements: what does not agree between sheet and program.
    """

    number: int | None
    called: tuple[str, ...]
    on_sheet: bool
    description: str | None
    diameter: float | None
    stick_out: float | None
    h: int | None
    d: int | None
    offset: int | None
    insert: str | None
    nose_radius: float | None
    large: bool
    through_coolant: bool
    flute_length: float | None
    length: float | None
    weight: float | None
    lowest_z: float | None
    deepest: Figure
    left: Figure
    restarts: tuple[tuple[int, str | None], ...]
    disagreements: tuple[str, ...]

    @property
    def name(self) -> str:
        """``T3``; ``T0101`` where the program writes it so and in no other way."""
        if self.number is None or (len(self.called) == 1 and len(self.called[0]) > 2):
            return f"T{next(iter(self.called), '?')}"
        return f"T{self.number}"


def tool_rows(
    operation: Operation, machine: Machine, summary: Summary, sections: Sequence[ToolSection]
) -> tuple[SheetTool, ...]:
    """The tools of the sheet by number, then those only the program knows."""
    lathe = machine.type == "lathe"
    used: dict[int | str, list[ToolSummary]] = {}
    for one in summary.tools:
        if one.tool is not None:
            used.setdefault(_station(one.tool, lathe=lathe), []).append(one)
    starts: dict[int | str, list[tuple[int, str | None]]] = {}
    for section in sections:
        if section.tool is not None:
            starts.setdefault(_station(section.tool, lathe=lathe), []).append((section.line, section.number))
    stated: Mapping[int | str, Tool] = {tool.number: tool for tool in operation.tools}
    keys = [*sorted(stated, key=_by_number), *sorted(used.keys() - stated.keys(), key=_by_number)]
    row = _Row(operation, machine, summary)
    return tuple(row.of(key, stated.get(key), used.get(key, ()), starts.get(key, ())) for key in keys)


def _by_number(key: int | str) -> tuple[bool, int, str]:
    """Order of tools: by number, then what is no number."""
    return (True, 0, key) if isinstance(key, str) else (False, key, "")


class _Row:
    """Makes rows; holds what they have in common."""

    def __init__(self, operation: Operation, machine: Machine, summary: Summary) -> None:
        self.operation, self.machine, self.summary = operation, machine, summary
        self.lathe = machine.type == "lathe"

    def of(
        self,
        key: int | str,
        tool: Tool | None,
        used: Sequence[ToolSummary],
        starts: Iterable[tuple[int, str | None]],
    ) -> SheetTool:
        number = key if isinstance(key, int) else None
        stated = tool or Tool(number=number or 0)
        deepest = self._deepest(used)
        return SheetTool(
            number=number,
            called=tuple(one.tool for one in used if one.tool is not None),
            on_sheet=tool is not None,
            description=stated.description
            or next((one.description for one in used if one.description), None),
            diameter=stated.diameter,
            stick_out=stated.stick_out,
            h=None if self.lathe or number is None else stated.length_offset,
            d=stated.diameter_offset if number is not None and self._wants_d(stated, used) else None,
            offset=stated.wear_offset if self.lathe and number is not None else None,
            insert=stated.insert,
            nose_radius=stated.nose_radius,
            large=stated.large or self._is_wide(stated),
            through_coolant=stated.through_coolant,
            flute_length=stated.flute_length,
            length=stated.length,
            weight=stated.weight,
            lowest_z=stated.lowest_z,
            deepest=deepest,
            left=self._left(stated, deepest),
            restarts=tuple(starts),
            disagreements=tuple(self._disagreements(tool, used)),
        )

    def _wants_d(self, tool: Tool, used: Sequence[ToolSummary]) -> bool:
        """Whether a D is to be entered: stated, used, or perhaps used where not everything was followed."""
        if self.lathe:
            return False
        return tool.d is not None or any(one.d for one in used) or bool(self.summary.not_followed)

    def _is_wide(self, tool: Tool) -> bool:
        limit = self.machine.large_tool_over
        if limit is None or tool.diameter is None:
            return False
        return tool.diameter * _MM.get(self.operation.units or "", 1) > limit * _MM[self.machine.units]

    def _deepest(self, used: Sequence[ToolSummary]) -> Figure:
        if not used:
            return Figure(
                why="not in the program" if not self.summary.not_followed else "not met in the program"
            )
        if (
            None not in (self.summary.units, self.operation.units)
            and self.summary.units != self.operation.units
        ):
            return Figure(why=f"the program is in {self.summary.units}, the sheet in {self.operation.units}")
        known = [one.deepest_cut for one in used if one.deepest_cut is not None]
        if not known:
            return Figure(why="no cut whose Z is known")
        return Figure(value=min(known), bound="at least" if self.summary.not_followed else "")

    def _left(self, tool: Tool, deepest: Figure) -> Figure:
        if self.lathe:
            return Figure(why=ON_LATHE)
        if deepest.value is None:
            return Figure(why=deepest.why)
        if tool.stick_out is None:
            return Figure(why="no stick-out on the sheet")
        stock = self.operation.stock
        top = stock.top if stock is not None and stock.top is not None else 0.0
        depth = max(top - deepest.value, 0.0)
        return Figure(value=tool.stick_out - depth, bound="at most" if deepest.bound else "")

    def _disagreements(self, tool: Tool | None, used: Sequence[ToolSummary]) -> Iterable[str]:
        if tool is None:
            yield "NOT ON THE SHEET"
            return
        lengths = {h for one in used for h in one.h}
        own, letter = (tool.wear_offset, "offset ") if self.lathe else (tool.length_offset, "H")
        if lengths and lengths != {own}:
            yield f"THE PROGRAM USES {_listed(letter, lengths)}"
        radii = {d for one in used for d in one.d}
        if not self.lathe and radii and radii != {tool.diameter_offset}:
            yield f"THE PROGRAM USES {_listed('D', radii)}"


def _listed(letter: str, numbers: Iterable[int]) -> str:
    return ", ".join(f"{letter}{number}".upper() for number in sorted(numbers))


def _station(tool: str, *, lathe: bool) -> int | str:
    """The tool a T word means: 3 of ``3``, on a lathe 1 of ``0101``; the text itself where it is no number."""
    if not tool.isdigit():
        return tool
    return int(tool[:-2]) if lathe and len(tool) in (3, 4) else int(tool)
