"""What a run through a program hands to those who watch: blocks, moves and events.

Lengths are in the *program's units*: those of the first G20 or G21, else of the setting (and of the setting where
something moved before the first of them). A word written after a switch of units is converted into them. Coordinates are those of the work offset in force, as they would be programmed (on a
lathe X is a diameter). A coordinate that is not known (before it is first named, after a home return, after a change
of work or length offset whose figures are not known) is None.
"""

from typing import TYPE_CHECKING, Protocol

from tracker.frozen import dataclass
from tracker.nc.item import Word

if TYPE_CHECKING:
    from tracker.machining.control import Control

Position = tuple[float | None, ...]
"""X Y Z A B C."""

RAPID, FEED, ARC, DWELL = "rapid", "feed", "arc", "dwell"


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """One block as it is run.

    Attributes:
        line: physical line in its file, counted from 1.
        number: its N as written (``"N120"``), or None.
        program: O number of the program it stands in, or None.
        depth: 0 in the main program, 1 in what it calls, …
        skip: None, or the block skip it opens with (``"/"``, ``"/2"``).
        words: its words in canonical spelling, without N and block skip; none if it does not read as words.
        comments: its comments, without their brackets, blanks at the ends cut.
        text: the line as written, without its line end.
    """

    line: int
    number: str | None
    program: int | None
    depth: int
    skip: str | None
    words: tuple[Word, ...]
    comments: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """The arc of a move: in ``plane`` (17, 18, 19), around ``centre`` (X Y, Z X or Y Z; on a lathe X is a diameter).

    ``clockwise`` seen from the positive end of the third axis; ``angle`` in radians, above 0, up to 2 pi a turn;
    ``radius`` at the start, as a length.
    """

    plane: int
    centre: tuple[float, float]
    clockwise: bool
    radius: float
    angle: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One move of the tool, or a dwell.

    Attributes:
        kind: ``RAPID``, ``FEED``, ``ARC`` or ``DWELL``.
        code: the word that made it: ``G0``, ``G1``, ``G2``, ``G81``, ``G28``, ``G53``, ``G4``, ``G71`` …
        start, end: positions; axes that are not known are None.
        arc: the arc of an ``ARC``.
        length: along the way (on a lathe with X as radius), linear axes only; None if it cannot be told.
        minutes: of a feed move or a dwell; None for rapids and where it cannot be told.
        machine: True for G53 and the second leg of G28 and G30: ``end`` holds machine coordinates of the axes that
            travel where they are known (G53: as programmed; G28: from the setting), all others are None.
        hole: the first downward feed move of a hole of a drilling cycle (so holes can be counted).
    """

    kind: str
    code: str
    start: Position
    end: Position
    arc: Arc | None = None
    length: float | None = None
    minutes: float | None = None
    machine: bool = False
    hole: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something that happens at a block and is not a move.

    ``what`` and ``value``: ``tool`` (number in the spindle or turret from here, with the lathe's offset in
    ``detail``), ``staged`` (T called for, not yet changed to), ``call`` (program number, repeats in ``detail``),
    ``return``, ``stop`` (``M0``, ``M1``, ``#3006``), ``end`` (``M2``, ``M30``, ``M99``, ``%``, ``#3000`` for an alarm,
    or nothing: ran off the end; a run that is left before its end has none),
    ``offset-written`` (``G10 L2 P1 X1.`` as written), ``not-followed`` (why; see `Watcher`), ``guess`` (how something
    was read that the text leaves open), ``hole-pattern``.
    """

    what: str
    value: str
    detail: str = ""


class Watcher(Protocol):
    """Someone who watches a run. ``control`` is live: read it at once, never change it, never keep it.

    For every block: ``block`` before it acts (``control`` as it was), then ``move`` and ``event`` in the order things
    happen (``control`` has the modal words of the block already), then ``acted``. A block that is run again in a loop or a call
    is handed out again. ``not-followed`` events name what cannot be followed: totals then are "at least".
    """

    def block(self, block: Block, control: "Control") -> None:
        """A block is about to act."""

    def move(self, block: Block, move: Move, control: "Control") -> None:
        """The tool moves, or waits."""

    def event(self, block: Block, event: Event, control: "Control") -> None:
        """Something else happens."""

    def acted(self, block: Block, control: "Control") -> None:
        """The block has acted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PassedRow:
    """A row of plain cutting moves that was run in bulk: G1, G2 or G3 in force, blocks with ``X Y Z I J K R F`` alone.

    Attributes:
        first, last: its blocks at the ends.
        letters: letters met in it.
        moves: how many moves it made; 0: all else below says nothing.
        low, high: lowest and highest X Y Z of its moves, of their ends and where arcs bulge; all of them are known.
        lowest: the first block that gets down to ``low[2]``.
        fastest: the highest F of its moves, and the first block that moves with it.
    """

    first: Block
    last: Block
    letters: frozenset[str]
    moves: int
    low: tuple[float, float, float]
    high: tuple[float, float, float]
    lowest: Block
    fastest: tuple[float, Block]


class RowWatcher(Watcher, Protocol):
    """A watcher that takes rows in bulk: instead of ``block``, ``move`` and ``acted`` for each of its blocks."""

    def takes_rows(self, control: "Control") -> bool:
        """Whether it does so here and now."""

    def row(self, row: PassedRow, control: "Control") -> None:
        """A row has acted; ``control`` is what is in force after it."""
