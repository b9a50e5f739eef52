"""Travel in Z, and both axes of a lathe: what a program runs through against the machine's travel."""

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.examples_turning import LATHE as LATHE1
from tracker.checks.examples_turning import TURNING, TURNING_SHEET
from tracker.checks.finding import WARN
from tracker.checks.rule import LATHE, Example, Rule
from tracker.checks.trail import is_work
from tracker.checks.watch import Stretch, Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move

_Key = tuple[int, int | None, str | None]


class _Along(Watch):
    """Least and greatest coordinate of an axis by tool and work offset, with the block that set the least."""

    axes: tuple[int, ...] = ()

    def begin(self, control: Control) -> None:
        """Nothing met so far."""
        self._met: dict[_Key, list[float]] = {}
        self._least: dict[_Key, tuple[Block, str]] = {}

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A move in the work."""
        if is_work(move):
            for axis in self.axes:
                for value in self.trail.reach(move, axis, control):
                    self._note(axis, value, block, control)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        for axis in self.axes:
            self._note(axis, stretch.low[axis], stretch.lowest, control)
            self._note(axis, stretch.high[axis], stretch.last, control)

    def counts(self, control: Control) -> bool:
        """Whether what is read now is a place of the tool's tip."""
        return True

    def _note(self, axis: int, value: float | None, block: Block, control: Control) -> None:
        if value is None or not self.counts(control):
            return
        key = (axis, self.trail.tool, control.offset)
        ends = self._met.setdefault(key, [value, value])
        if value <= ends[0] or key not in self._least:
            self._least[key] = (block, self.trail.path(block))
        ends[0], ends[1] = min(ends[0], value), max(ends[1], value)

    def has(self, axis: int, control: Control) -> float | None:
        """The machine's travel less the shop's margin; None, said, where it is not stated."""
        machine = self.subject.machine
        travel = machine.travel if machine else None
        ends = None if travel is None else (travel.x, travel.y, travel.z)[axis]
        if ends is None:
            name = "XYZ"[axis]
            self.unknown(
                f"travel of {machine.id} in {name} is not stated"
                if machine
                else f"no machine: travel in {name}"
            )
            return None
        return self.of_machine(ends[1] - ends[0], control) - self.margin(
            self.subject.checks.travel_gap, control
        )

    def too_far(self, key: _Key, span: float, has: float, how: str) -> None:
        """The finding."""
        block, path = self._least[key]
        self.found_at(
            path,
            block.line,
            block.text,
            f"{'XYZ'[key[0]]} runs {how}, {fig(span)} in all, {fig(has)} of travel may be used, "
            f"{fig(span - has)} too far",
            tool=key[1],
        )


class TravelZ(_Along):
    """A tool's own span whatever its length; between tools of different lengths where all are stated."""

    axes = (2,)

    def counts(self, control: Control) -> bool:
        """Only under a length offset Z is the tip's."""
        return control.length in ("43", "44")

    def end(self, control: Control) -> None:
        """Each work offset."""
        has = self.has(2, control) if self._met else None
        if has is None:
            return
        silent: dict[str, None] = {}
        by_offset: dict[str | None, list[_Key]] = {}
        for key, (low, high) in self._met.items():
            if high - low > has + 1e-9:
                self.too_far(key, high - low, has, f"from {fig(low)} to {fig(high)}")
                continue
            tool = self.subject.tool(key[1])
            if tool is None or tool.length is None:
                silent[f"T{key[1]}"] = None
            else:
                by_offset.setdefault(key[2], []).append(key)
        for keys in by_offset.values():
            self._nose(keys, has, control)
        if silent:
            self.unknown(f"length of {', '.join(silent)} is not stated on the setup sheet")

    def _nose(self, keys: list[_Key], has: float, control: Control) -> None:
        """Span of the spindle nose over tools of one work offset."""
        lows = {key: self._met[key][0] + self._length(key, control) for key in keys}
        high = max(self._met[key][1] + self._length(key, control) for key in keys)
        lowest = min(keys, key=lows.__getitem__)
        span = high - lows[lowest]
        if span > has + 1e-9:
            how = f"from {fig(lows[lowest])} to {fig(high)} at the spindle nose, tools of several lengths"
            self.too_far(lowest, span, has, how)

    def _length(self, key: _Key, control: Control) -> float:
        tool = self.subject.tool(key[1])
        return self.of_sheet(tool.length or 0.0, control) if tool else 0.0


class TravelTurning(_Along):
    """X as a diameter, and Z, of each tool: less than what all of them take together, so never a false alarm."""

    axes = (0, 2)

    def end(self, control: Control) -> None:
        """Each tool by itself."""
        for axis in sorted({key[0] for key in self._met}):
            has = self.has(axis, control)
            for key, (low, high) in self._met.items():
                if has is not None and key[0] == axis and high - low > has + 1e-9:
                    self.too_far(key, high - low, has, f"from {fig(low)} to {fig(high)}")


RULES = (
    Rule(
        name="travel-z-short",
        severity=WARN,
        what="What a program runs through in Z fits the machine's travel, with the shop's margin and tool lengths.",
        reason="However long the tools are set, Z runs into its limit: at the top of a change, or in the work.",
        remedy="put a lost sign or point right, retract less far, or use tools of more equal lengths",
        watch=TravelZ,
        example=Example(trips=edited(("Z1. M9", "Z21. M9")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="travel-short-turning",
        severity=WARN,
        what="What each tool runs through in X and in Z fits the lathe's travel, with the shop's margin.",
        reason="Wherever the zero is set, the axis runs into its limit, or the turret into the chuck.",
        remedy="put a lost sign or point right, or retract less far",
        machines=LATHE,
        watch=TravelTurning,
        example=Example(
            trips=edited(("X150. Z100.", "X150. Z600."), text=TURNING),
            clean=TURNING,
            sheet=TURNING_SHEET,
            machine=LATHE1,
        ),
    ),
)
