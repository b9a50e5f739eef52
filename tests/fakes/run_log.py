"""A watcher that keeps what it is told, and a run of a text with it."""

from dataclasses import dataclass, field
from typing import Any

from tracker.machining.control import Control
from tracker.machining.run_through import run
from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise
from tracker.machining.summary import Summary
from tracker.machining.watch import Block, Event, Move


@dataclass
class RunLog:
    """Moves and events with the line of their block, in order; ``control`` at the end."""

    moves: list[tuple[int, Move]] = field(default_factory=list)
    events: list[tuple[int, Event]] = field(default_factory=list)
    blocks: list[int] = field(default_factory=list)
    control: Control = field(default_factory=Control)

    def block(self, block: Block, control: Control) -> None:
        self.blocks.append(block.line)

    def move(self, block: Block, move: Move, control: Control) -> None:
        self.moves.append((block.line, move))

    def event(self, block: Block, event: Event, control: Control) -> None:
        self.events.append((block.line, event))

    def acted(self, block: Block, control: Control) -> None:
        pass

    def of(self, *kinds: str) -> list[Move]:
        """The moves of these kinds."""
        return [move for _, move in self.moves if move.kind in kinds]

    def length(self, *kinds: str) -> float:
        return sum(move.length or 0.0 for move in self.of(*kinds))

    def ends(self, *axes: int) -> list[tuple[float | None, ...]]:
        """Where every move ends."""
        return [tuple(move.end[axis] for axis in axes or (0, 1, 2)) for _, move in self.moves]

    def told(self, what: str) -> list[str]:
        """The values of events."""
        return [event.value for _, event in self.events if event.what == what]

    @property
    def not_followed(self) -> list[str]:
        return self.told("not-followed")


def ran(text: str, **known: Any) -> RunLog:
    """A text run through; ``known`` as in `Setting`."""
    log = RunLog()
    log.control = run(text.encode("latin-1"), Setting(**{"decimal": "calculator", **known}), (log,))
    return log


def summed(text: str | bytes, **known: Any) -> Summary:
    data = text if isinstance(text, bytes) else text.encode("latin-1")
    return summarise(data, Setting(**{"decimal": "calculator", "lathe": False, **known}))
