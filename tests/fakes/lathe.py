"""A lathe program run through, and all it showed, for checks by hand."""

from dataclasses import dataclass, field

from tracker.machining.control import Control
from tracker.machining.run_through import run as run_through
from tracker.machining.setting import Setting
from tracker.machining.watch import ARC, FEED, RAPID, Block, Event, Move


@dataclass
class Seen:
    """What a run showed."""

    moves: list[Move] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    speeds: list[float | None] = field(default_factory=list)
    control: Control = field(default_factory=Control)

    def block(self, block: Block, control: Control) -> None:
        pass

    def acted(self, block: Block, control: Control) -> None:
        pass

    def move(self, block: Block, move: Move, control: Control) -> None:
        self.moves.append(move)
        self.lines.append(block.line)
        self.speeds.append(control.speed)

    def event(self, block: Block, event: Event, control: Control) -> None:
        self.events.append(event)

    @property
    def not_followed(self) -> list[str]:
        """What is named, beside the variable that tests leave unset."""
        named = [event.value for event in self.events if event.what == "not-followed"]
        return [one for one in named if not one.endswith(": #1 is not known")]

    def of(self, *kinds: str) -> list[Move]:
        return [move for move in self.moves if move.kind in kinds]

    @property
    def cuts(self) -> list[Move]:
        return self.of(FEED, ARC)

    @property
    def rapids(self) -> list[Move]:
        return self.of(RAPID)

    @property
    def cut(self) -> float:
        return sum(move.length or 0.0 for move in self.cuts)

    @property
    def minutes(self) -> float:
        assert all(move.minutes is not None for move in self.cuts)
        return sum(move.minutes or 0.0 for move in self.cuts)

    @property
    def path(self) -> list[tuple[float | None, float | None]]:
        """X and Z after every move."""
        return [(move.end[0], move.end[2]) for move in self.moves]


def run(program: str, **setting: object) -> Seen:
    """Run a lathe program through."""
    seen = Seen()
    seen.control = run_through(program.encode("latin-1"), Setting(lathe=True, **setting), [seen])
    return seen
