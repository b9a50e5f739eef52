"""A run of ours, watched and told as steps."""

import math

from tests.oracle.machine import setting
from tests.oracle.steps import Step, Told
from tracker.machining.control import Control
from tracker.machining.run_through import run
from tracker.machining.watch import Block, Event, Move


def _with_turns(place: tuple[float | None, ...]) -> tuple[float | None, ...]:
    """Turning axes stand at 0 at the start; the setting has no words for that."""
    return (*place[:3], *(0.0 if angle is None else angle for angle in place[3:]))


class Listener:
    """Writes down every move, and the events the interpreter tells too."""

    def __init__(self, units: str) -> None:
        self.told = Told(units)
        self.lost: set[str] = set()

    def block(self, block: Block, control: Control) -> None:
        pass

    def acted(self, block: Block, control: Control) -> None:
        pass

    def move(self, block: Block, move: Move, control: Control) -> None:
        arc, more = move.arc, {}
        start, end = _with_turns(move.start), _with_turns(move.end)
        if arc is not None:
            turns = math.ceil(arc.angle / math.tau - 1e-6)
            more = {"plane": arc.plane, "centre": arc.centre, "turns": -turns if arc.clockwise else turns}
        self.lost -= {axis for axis, place in zip("XYZ", move.end, strict=False) if place is not None}
        if move.kind == "dwell":
            more["seconds"] = None if move.minutes is None else move.minutes * 60
        elif move.minutes:
            turning = max(abs(a - b) for a, b in zip(start[3:], end[3:], strict=True))
            more["rate"] = (move.length or turning) / move.minutes
        self.told.steps.append(
            Step(
                kind=move.kind,
                start=start,
                end=end,
                length=move.length,
                speed=control.speed,
                line=block.line,
                machine=move.machine,
                lost="".join(sorted(self.lost)),
                **more,
            )
        )

    def event(self, block: Block, event: Event, control: Control) -> None:
        if event.what in ("tool", "stop"):
            self.told.events.append(f"{event.what} {event.value.lstrip('0') or 0}")
            self.lost |= set("XYZ") if event.what == "tool" else set()
        elif event.what == "end":
            self.told.events.append("end")
        elif event.what == "guess":
            self.told.guesses.append(event.value)
        elif event.what == "not-followed":
            self.told.not_followed.append(event.value)


def ours(program: str, units: str, *, skip: bool = False) -> Told:
    """What our run through a program comes to, on the same machine and in the program's units."""
    listener = Listener(units)
    run(program.encode("latin-1"), setting(units, skip=skip), (listener,))
    return listener.told
