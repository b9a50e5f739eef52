"""Reads the interpreter's canonical moves (NISTIR 6556 section 4.2 names them) into steps.

Figures are printed with four decimals in the units in force; places are programmed coordinates of the work offset in
force, tool length and G92 taken off.
"""

import re
from dataclasses import dataclass, field

from tests.oracle.steps import PLANES, Step, Told, arc_length, straight

_CALL = re.compile(r"(\w+)\((.*)\)$")
_PLANE = {"CANON_PLANE_XY": 17, "CANON_PLANE_XZ": 18, "CANON_PLANE_YZ": 19}
_UNITS = {"CANON_UNITS_INCHES": "inch", "CANON_UNITS_MM": "mm"}
_EVENT = {
    "PROGRAM_STOP": "stop M0",
    "OPTIONAL_PROGRAM_STOP": "stop M1",
    "PROGRAM_END": "end",
    "FINISH": "end",
}
_PASSED_OVER = re.compile(
    "ON_RESET|COMMENT|MESSAGE|LOG|SET_TOOL_TABLE_ENTRY|SET_XY_ROTATION|SET_FEED_REFERENCE|SET_MOTION_CONTROL_MODE|"
    "SET_NAIVECAM_TOLERANCE|SELECT_TOOL|START_CHANGE|(FLOOD|MIST)_(ON|OFF)|(EN|DIS)ABLE_(FEED|SPEED)_OVERRIDE|"
    "PALLET_SHUTTLE|(START|STOP)_SPINDLE_\\w+|SET_SPINDLE_MODE|ORIENT_SPINDLE"
)


def _figures(text: str) -> list[float]:
    return [float(figure) for figure in re.findall(r"-?[0-9.]+(?:e-?[0-9]+)?", text)]


@dataclass
class _Reader:
    told: Told
    units: str = "mm"
    plane: int = 17
    feed: float = 0.0
    per_revolution: bool = False
    lead: float = 0.0
    speed: float = 0.0
    place: tuple[float, ...] = (0.0,) * 6
    shifts: dict[str, tuple[float, ...]] = field(default_factory=dict)

    def scale(self) -> float:
        """From the units in force to those of the program."""
        return {("mm", "inch"): 1 / 25.4, ("inch", "mm"): 25.4}.get((self.units, self.told.units), 1.0)

    def read(self, name: str, given: str) -> None:
        if name in ("STRAIGHT_TRAVERSE", "STRAIGHT_FEED", "STRAIGHT_PROBE"):
            self.move("rapid" if name == "STRAIGHT_TRAVERSE" else "feed", self.lengths(given))
        elif name == "ARC_FEED":
            self.arc(given)
        elif name == "RIGID_TAP":
            for place in ((*self.lengths(given)[:3], *self.place[3:]), self.place):
                self.move("feed", place)
        elif name == "DWELL":
            seconds = _figures(given)[0]
            self.told.steps.append(self.step("dwell", self.place, seconds=seconds))
        elif name == "CHANGE_TOOL":
            self.told.events.append(f"tool {int(_figures(given)[0])}")
        elif name in _EVENT:
            self.told.events.append(_EVENT[name])
        else:
            self.in_force(name, given)

    def in_force(self, name: str, given: str) -> None:
        if name == "USE_LENGTH_UNITS":
            self.units = _UNITS[given]
            self.told.coarse |= (self.units, self.told.units) == ("inch", "mm")
        elif name == "SELECT_PLANE":
            self.plane = _PLANE[given]
        elif name == "SET_FEED_MODE":
            self.per_revolution = _figures(given)[1] == 1
        elif name == "SET_FEED_RATE":
            self.feed = _figures(given)[0] * self.scale()
        elif name == "START_SPEED_FEED_SYNC":
            self.lead = _figures(given)[0] * self.scale()
        elif name == "STOP_SPEED_FEED_SYNCH":
            self.lead = 0.0
        elif name == "SET_SPINDLE_SPEED":
            self.speed = _figures(given)[1]
        elif name in ("SET_G5X_OFFSET", "SET_G92_OFFSET", "USE_TOOL_LENGTH_OFFSET"):
            self.shift(name, given)
        elif not _PASSED_OVER.fullmatch(name):
            raise ValueError(f"{name}({given}) is not known here")

    def shift(self, name: str, given: str) -> None:
        """The tool stays where it is; its coordinates change by what the offset changes."""
        figures = _figures(given)[1:] if name == "SET_G5X_OFFSET" else _figures(given)
        new = tuple(figure * self.scale() for figure in figures[:3])
        old = self.shifts.get(name, (0.0, 0.0, 0.0))
        self.shifts[name] = new
        moved = (p + o - n for p, o, n in zip(self.place[:3], old, new, strict=True))
        self.place = (*moved, *self.place[3:])

    def lengths(self, given: str) -> tuple[float, ...]:
        figures = _figures(given)
        return tuple(figure * self.scale() for figure in figures[:3]) + tuple(figures[3:])

    def move(self, kind: str, end: tuple[float, ...]) -> None:
        length = straight(self.place, end)
        self.told.steps.append(self.step(kind, end, length=length))
        self.place = end

    def arc(self, given: str) -> None:
        figures = _figures(given)
        ends = [figure * self.scale() for figure in (*figures[:4], figures[5])]
        turns = int(figures[4])
        first, second, third = PLANES[self.plane]
        linear = [0.0] * 3
        linear[first], linear[second], linear[third] = ends[0], ends[1], ends[4]
        end = (*linear, *figures[6:])
        centre = (ends[2], ends[3])
        length = arc_length(self.place, end, self.plane, centre, turns)
        self.told.steps.append(
            self.step(
                "arc",
                end,
                length=length,
                plane=self.plane,
                centre=centre,
                turns=turns,
            )
        )
        self.place = end

    def rate(self) -> float | None:
        """Length per minute; in inverse time the interpreter has worked it out for the move."""
        by_turn = self.lead or (self.feed if self.per_revolution else 0.0)
        return (by_turn * self.speed if by_turn else self.feed) or None

    def step(self, kind: str, end: tuple[float, ...], **more: object) -> Step:
        rate = self.rate() if kind in ("feed", "arc") else None
        return Step(
            kind=kind,
            start=self.place,
            end=end,
            rate=rate,
            speed=self.speed,
            shift=tuple(map(sum, zip(*self.shifts.values(), strict=True))),
            **more,
        )


def read(answer: str) -> Told:
    """Steps of an answer; the lines up to the first reset only set the interpreter up."""
    before, _, rest = answer.partition("ON_RESET()\n")
    units = next(iter(re.findall(r"^USE_LENGTH_UNITS\((\w+)\)", rest, re.MULTILINE)), "CANON_UNITS_MM")
    reader = _Reader(Told(_UNITS[units]))
    for line in (before + rest).splitlines():
        if line.startswith("error: "):
            reader.told.error = reader.told.error or line.removeprefix("error: ")
        elif call := _CALL.match(line):
            reader.read(call[1], call[2])
            if call[1] in ("PROGRAM_END", "FINISH"):
                break
        else:
            raise ValueError(f"not a canonical move: {line}")
    return reader.told
