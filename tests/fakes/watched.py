"""A run watched: which lines were run, which moves were made, what was named."""

from dataclasses import dataclass, field

from tracker.machining.control import Control
from tracker.machining.run_through import run
from tracker.machining.setting import Setting
from tracker.machining.watch import Block, Event, Move


@dataclass
class Watched:
    """What a run showed, in order."""

    blocks: list[Block] = field(default_factory=list)
    acted_on: list[Block] = field(default_factory=list)
    moves: list[Move] = field(default_factory=list)
    events: list[tuple[int, Event]] = field(default_factory=list)
    order: list[str] = field(default_factory=list)
    control: Control = field(default_factory=Control)

    def block(self, block: Block, control: Control) -> None:
        self.blocks.append(block)
        self.order.append("block")

    def acted(self, block: Block, control: Control) -> None:
        self.acted_on.append(block)
        self.order.append("acted")

    def move(self, block: Block, move: Move, control: Control) -> None:
        self.moves.append(move)
        self.order.append("move")

    def event(self, block: Block, event: Event, control: Control) -> None:
        self.events.append((block.line, event))
        self.order.append(event.what)

    @property
    def lines(self) -> list[int]:
        return [block.line for block in self.blocks]

    @property
    def ends(self) -> list[tuple[float | None, ...]]:
        """X Y Z after every move."""
        return [move.end[:3] for move in self.moves]

    @property
    def x(self) -> list[float | None]:
        return [move.end[0] for move in self.moves]

    def values(self, what: str) -> list[str]:
        return [event.value for _, event in self.events if event.what == what]

    @property
    def named(self) -> list[str]:
        """What could not be followed, as far as the order of blocks and their figures go."""
        return [text for text in self.values("not-followed") if "where" not in text and "minutes" not in text]

    @property
    def end(self) -> str | None:
        found = self.values("end")
        assert len(found) <= 1
        return found[0] if found else None

    @property
    def calls(self) -> list[tuple[str, str]]:
        return [(event.value, event.detail) for _, event in self.events if event.what == "call"]

    def variable(self, number: int) -> float | None:
        return self.control.variables[number]


def watch(text: str | bytes, *, others: dict[int, str] | None = None, **setting: object) -> Watched:
    """Run a program through; ``others`` are programs in hand, by number. Numbers without a point are as written."""
    data = text if isinstance(text, bytes) else text.encode("latin-1")
    in_hand = {number: body.encode("latin-1") for number, body in (others or {}).items()}
    given: dict[str, object] = {"decimal": "calculator", "called": in_hand.get, **setting}
    seen = Watched()
    seen.control = run(data, Setting(**given), [seen])  # type: ignore[arg-type]
    return seen
