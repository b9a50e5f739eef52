"""What many rules ask of a run so far: the tool at work, what this block says, what was stated since the change."""

from tracker.checks.lost import BLOCKS, hidden_by
from tracker.checks.subject import Subject
from tracker.machining.control import Control
from tracker.machining.reach import bulges
from tracker.machining.watch import ARC, RAPID, Block, Event, Move
from tracker.nc.codes import code_of
from tracker.nc.word import Word

HOMING = frozenset(("G28", "G30", "G53"))
CYCLES = frozenset(("73", "74", "76", *map(str, range(81, 90))))
CUTS = frozenset(("1", "2", "3"))
AXES = frozenset("XYZABCUVW")


class Trail:
    """Kept up to date before any rule is asked.

    Attributes:
        block: the block that acts; ``codes`` its G and M words (``"G43"``), ``words`` its other words by letter.
        tool: number in the spindle; ``change`` the block of its change, None before the first.
        changes: tool changes so far.
        since: G and M words, and letters, met in the block of the change and after it.
        restated: the same, and what stood before the change with no move in the work in between: ``G54`` on the line
            before ``T2 M6`` is said for T2.
        moved: a move in the work was made since the change.
        blind: why nobody can say what is in force, since a call that was not followed; ends with a tool change.
        ever_blind: the first such reason of the whole run.
        not_followed: what could not be followed, with its block and what that hides (`tracker.checks.lost`).
    """

    def __init__(self, subject: Subject) -> None:
        self._subject = subject
        self.block: Block | None = None
        self.codes: frozenset[str] = frozenset()
        self.words: dict[str, Word] = {}
        self.tool: int | None = None
        self.change: Block | None = None
        self.changes = 0
        self.since: set[str] = set()
        self.restated: set[str] = set()
        self.moved = False
        self.blind: str | None = None
        self.ever_blind: str | None = None
        self.not_followed: list[tuple[str, Block, str]] = []
        self._open: set[str] = set()
        self._moves_here = False
        self._bulging: Move | None = None
        self._bulges: tuple[tuple[int, float, float], ...] = ()

    def reach(self, move: Move, axis: int, control: Control) -> tuple[float | None, float | None]:
        """The lowest and the highest place of a move along an axis: its end, and where an arc bulges."""
        end = move.end[axis]
        if move.kind != ARC or end is None:
            return end, end
        if move is not self._bulging:  # several rules ask of one move
            self._bulging, self._bulges = move, bulges(move, lathe=control.lathe)
        return next(((low, high) for one, low, high in self._bulges if one == axis), (end, end))

    def path(self, block: Block) -> str:
        """The file a block stands in."""
        main = self._subject.main
        if block.depth == 0 or block.program is None:
            return main.path
        found = self._subject.by_number.get(block.program)
        return (found or main).path

    def enter(self, block: Block) -> None:
        """A block that is not plain is about to act."""
        self.block = block
        self.words = {word.letter: word for word in block.words}
        self.codes = frozenset(
            word.letter + code_of(word.number) for word in block.words if word.letter in ("G", "M")
        )
        said = self.codes | self.words.keys()
        self.since |= said
        self.restated |= said
        self._open |= said
        self._moves_here = False

    def step(self, move: Move) -> None:
        """A move of this block."""
        if is_work(move):
            self.moved = self._moves_here = True

    def happen(self, block: Block, event: Event, control: Control) -> None:
        """An event of this block."""
        if event.what == "tool":
            self._change(block, control)
        elif event.what == "not-followed":
            hidden = hidden_by(event.value, block)
            if hidden is not None:
                self.not_followed.append((event.value, block, hidden))
            if hidden == BLOCKS:
                self.blind = event.value
                self.ever_blind = self.ever_blind or event.value

    def leave(self) -> None:
        """The block has acted."""
        if self._moves_here:
            self._open.clear()

    def enter_row(self, first: Block) -> None:
        """A row of plain blocks begins."""
        self.block = first
        self.codes, self.words = frozenset(), {}

    def pass_stretch(self, last: Block) -> None:
        """A row of plain blocks has acted."""
        self.block = last
        self.moved = True
        self._open.clear()

    def _change(self, block: Block, control: Control) -> None:
        self.tool = control.tool
        self.change = block
        self.changes += 1
        self.moved = False
        self.blind = None
        self.since = set(self.codes | self.words.keys())
        self.restated = self.since | self._open


def is_work(move: Move) -> bool:
    """Whether a move goes to a place in the work: no dwell, no home return, no machine coordinates."""
    return move.kind != "dwell" and not move.machine and move.code not in HOMING


def is_cut(move: Move) -> bool:
    """Whether it is made with a feed."""
    return move.kind not in (RAPID, "dwell") and not move.machine
