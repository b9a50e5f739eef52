"""One watcher for all rules: it keeps the trail, sums up rows of plain blocks, and asks only who wants to know."""

from collections.abc import Callable, Iterable, Sequence

from tracker.checks.rule import ANY, LATHE, MILL, Rule
from tracker.checks.subject import Subject
from tracker.checks.trail import CUTS, Trail
from tracker.checks.watch import Said, Stretch, Watch
from tracker.machining.control import Control
from tracker.machining.reach import bulges
from tracker.machining.watch import Block, Event, Move, PassedRow

_PLAIN = frozenset("XYZABCIJKRF")
_ALONE = ("begin", "block", "move", "tool", "event", "acted", "end")
_IN_ROWS = ("block", "move", "acted")
_HOOKS = (*_ALONE, *(f"plain {name}" for name in _IN_ROWS), "stretch")
_KNOWN: dict[type[Watch], list[tuple[str, str]]] = {}


class Panel:
    """Hands one run to the rules that are meant for the kind of machine it is read for."""

    def __init__(self, subject: Subject, rules: Sequence[Rule]) -> None:
        self.subject = subject
        self.trail = Trail(subject)
        self.said = Said()
        self.rules: tuple[Rule, ...] = ()
        self._all = rules
        self._row: _Row | None = None
        self._opened = False
        self._plain_block = False
        self._hears_plain = False
        self._hooks: dict[str, list[Callable[..., None]]] = {}

    # -- the run ------------------------------------------------------------------------------------------------------

    def block(self, block: Block, control: Control) -> None:
        """A block is about to act: part of a row of plain blocks, or one by itself."""
        if not self._opened:
            self.open(control)
        self._plain_block = False
        if control.motion in CUTS and block.words and not block.skip:
            letters = [word.letter for word in block.words]
            if _PLAIN.issuperset(letters):
                self._add(block, letters, control)
                return
        self._close_row(control)
        self.trail.enter(block)
        for hook in self._hooks["block"]:  # as `_ask` does, here and below a few hundred thousand times
            hook(block, control)

    def _add(self, block: Block, letters: Iterable[str], control: Control) -> None:
        """One more block of a row of plain ones."""
        self._plain_block = True
        row = self._row
        if row is None or row.first.program != block.program:
            self._close_row(control)
            row = self._row = _Row(block)
            self.trail.enter_row(block)
        row.last = block
        row.letters.update(letters)
        if self._hears_plain:
            self._ask("plain block", block, control)

    def takes_rows(self, control: Control) -> bool:
        """Whether rows of plain blocks may come summed up: no rule has to see each of their blocks."""
        if not self._opened:
            self.open(control)
        return control.motion in CUTS and not self._hears_plain

    def row(self, row: PassedRow, control: Control) -> None:
        """Blocks and moves of a row of plain ones, all at once."""
        self._add(row.first, row.letters, control)
        if self._row is not None:
            self._row.pass_on(row)

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A move."""
        if self._plain_block and self._row is not None:
            self._row.step(block, move, control)
            if self._hears_plain:
                self._ask("plain move", block, move, control)
            return
        for hook in self._hooks["move"]:
            hook(block, move, control)
        self.trail.step(move)

    def event(self, block: Block, event: Event, control: Control) -> None:
        """An event."""
        if not self._opened:
            self.open(control)
        self.trail.happen(block, event, control)
        if event.what == "tool":
            self._ask("tool", block, control)
        self._ask("event", block, event, control)

    def acted(self, block: Block, control: Control) -> None:
        """The block has acted."""
        if self._plain_block:
            if self._hears_plain:
                self._ask("plain acted", block, control)
            return
        for hook in self._hooks["acted"]:
            hook(block, control)
        self.trail.leave()

    # -- its ends -----------------------------------------------------------------------------------------------------

    def open(self, control: Control) -> None:
        """Choose the rules and let them begin."""
        self._opened = True
        kinds = (ANY, LATHE if control.lathe else MILL)
        self.rules = tuple(rule for rule in self._all if rule.machines in kinds)
        watches = [rule.watch(rule, self.subject, self.trail, self.said) for rule in self.rules]
        self._hears_plain = any(watch.plain for watch in watches)
        self._hooks = {name: [] for name in _HOOKS}
        for watch in watches:
            for name, called in _own(type(watch)):
                self._hooks[called].append(getattr(watch, name))
        self._ask("begin", control)

    def close(self, control: Control) -> None:
        """The run is over."""
        if not self._opened:
            self.open(control)
        self._close_row(control)
        self._ask("end", control)

    def _close_row(self, control: Control) -> None:
        row, self._row = self._row, None
        if row is None:
            return
        if row.moves:
            self._ask("stretch", row.stretch(), control)
        self.trail.pass_stretch(row.last)

    def _ask(self, name: str, *what: object) -> None:
        for hook in self._hooks[name]:
            hook(*what)


def _own(kind: type[Watch]) -> list[tuple[str, str]]:
    """The hooks a rule has of its own, each with what it is called at; a rule for plain blocks is asked in rows too."""
    if kind not in _KNOWN:
        own = [name for name in _ALONE if getattr(kind, name) is not getattr(Watch, name)]
        _KNOWN[kind] = [(name, name) for name in own]
        if kind.plain:
            _KNOWN[kind] += [(name, f"plain {name}") for name in own if name in _IN_ROWS]
        elif kind.stretch is not Watch.stretch:
            _KNOWN[kind].append(("stretch", "stretch"))
    return _KNOWN[kind]


class _Row:
    """A row of plain blocks in the making."""

    def __init__(self, first: Block) -> None:
        self.first = self.last = self.lowest = first
        self.moves = 0
        self.letters: set[str] = set()
        self._fastest: tuple[float, Block] | None = None
        self._unfed: Block | None = None
        self._halted: Block | None = None
        self._low: list[float | None] = [None] * 3
        self._high: list[float | None] = [None] * 3

    def step(self, block: Block, move: Move, control: Control) -> None:
        self.moves += 1
        feed = control.feed
        if feed:
            self._feed_at(feed, block)
        elif feed is None and "F" not in self.letters:
            self._unfed = self._unfed or block
        elif feed is not None:
            self._halted = self._halted or block
        for axis, end in enumerate(move.end[:3]):
            if end is not None:
                self._reach(axis, end, end, block)
        for axis, low, high in bulges(move, lathe=control.lathe):
            self._reach(axis, low, high, block)

    def _reach(self, axis: int, low: float, high: float, block: Block) -> None:
        before = self._low[axis]
        if before is None or low < before:
            self._low[axis] = low
            if axis == 2:
                self.lowest = block
        before = self._high[axis]
        if before is None or high > before:
            self._high[axis] = high

    def _feed_at(self, feed: float, block: Block) -> None:
        if self._fastest is None or feed > self._fastest[0]:
            self._fastest = feed, block

    def pass_on(self, row: PassedRow) -> None:
        """The same for many moves."""
        self.last = row.last
        if not row.moves:
            return
        self.moves += row.moves
        self._feed_at(*row.fastest)
        for axis in range(3):
            self._reach(axis, row.low[axis], row.high[axis], row.lowest)

    def stretch(self) -> Stretch:
        return Stretch(
            first=self.first,
            last=self.last,
            letters=frozenset(self.letters),
            low=(self._low[0], self._low[1], self._low[2]),
            high=(self._high[0], self._high[1], self._high[2]),
            lowest=self.lowest,
            moves=self.moves,
            fastest=self._fastest,
            unfed=self._unfed,
            halted=self._halted,
        )
