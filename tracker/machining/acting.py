"""What every part of doing a block needs: what is in force, who is told, and how a move is made and named."""

from collections.abc import Callable, Mapping, Sequence

from tracker.machining.axes import AXES, LINEAR, factor_between
from tracker.machining.block_words import Words
from tracker.machining.control import Control
from tracker.machining.cycle import Cycle
from tracker.machining.feeds import INVERSE, PER_REVOLUTION, feed_minutes
from tracker.machining.motion import Places, steps_to, straight, turns_rotary
from tracker.machining.offsets import Offsets
from tracker.machining.said import Said
from tracker.machining.setting import Setting
from tracker.machining.turning_memory import Memory
from tracker.machining.turning_minutes import leg_minutes, leg_of, missing
from tracker.machining.turning_shape import Leg
from tracker.machining.watch import RAPID, Arc, Block, Event, Move, Watcher

Contour = Callable[[str, str], "tuple[tuple[Block, tuple[Said, ...]], ...] | None"]
"""Labels of a lathe contour -> the blocks between them, or None."""


_READ_AS_G90 = "no G90 or G91 before the first axis word: read as G90"


def _no_contour(_first: str, _last: str) -> None:
    return None


_NOTHING = Block(line=0, number=None, program=None, depth=0, skip=None, words=(), comments=(), text="")


class Acting:
    """What is in force and who watches; `tracker.machining.act` does blocks with it.

    Attributes:
        control: what is in force.
        setting: what is known beforehand.
        watchers: who is told.
        contour: the blocks of a lathe contour by its labels.
        block: the block being done; words: its words, sorted.
        offsets: figures of offsets as far as they are known.
        cycle: the drilling cycle in force.
        turning: what turning cycles remember.
        ended: ``M2`` or ``M30`` once one was met, else None.
        called_for: the T said last; M6 changes to it.
        cycle_moves: how many moves drilling cycles have made; they end with `Setting.most_blocks`.
        travelled: something has moved; units_said: G20 or G21 was met.
    """

    def __init__(
        self,
        control: Control,
        setting: Setting,
        watchers: Sequence[Watcher],
        contour: Contour = _no_contour,
    ) -> None:
        self.control = control
        self.setting = setting
        self.watchers = tuple(watchers)
        self.contour = contour
        self.offsets = Offsets(setting)
        self.cycle = Cycle()
        self.turning = Memory()
        self.ended: str | None = None
        self.called_for: int | None = None
        self.cycle_moves = 0
        self.travelled = False
        self.units_said = False
        self.block = _NOTHING
        self.words = Words(())
        self._said: set[str] = set()

    # What watchers are told

    def not_followed(self, block: Block, why: str) -> None:
        """Name something that cannot be followed; totals are "at least" from here on."""
        self._tell(block, Event(what="not-followed", value=why))

    def name(self, what: str, why: str = "") -> None:
        """Name something of the block being done that is not followed: ``G71 at line 12: why``."""
        text = f"{what} at {_place(self.block)}"
        self.not_followed(self.block, f"{text}: {why}" if why else text)

    def name_once(self, key: str, what: str, why: str = "") -> None:
        """`name`, but only the first time since the last tool change."""
        if key not in self._said:
            self._said.add(key)
            self.name(what, why)

    def guess(self, text: str) -> None:
        """State how something was read that the text leaves open."""
        if text not in self._said:
            self._said.add(text)
            self._tell(self.block, Event(what="guess", value=text))

    def event(self, what: str, value: str, detail: str = "") -> None:
        """Tell of something that is not a move."""
        if what == "tool":
            self._said.clear()
        self._tell(self.block, Event(what=what, value=value, detail=detail))

    def move(self, move: Move) -> None:
        """Tell of a move; where it ends was put down before."""
        self.travelled = True
        for watcher in self.watchers:
            watcher.move(self.block, move, self.control)

    def _tell(self, block: Block, event: Event) -> None:
        for watcher in self.watchers:
            watcher.event(block, event, self.control)

    # Figures

    @property
    def factor(self) -> float:
        """What a length as written is multiplied with to be one in base units."""
        return factor_between(self.control.units, self.control.base)

    def length(self, letter: str) -> float | None:
        """A length of the block, in base units."""
        value = self.words.value(letter)
        return None if value is None else value * self.factor

    def targets(self) -> dict[int, float | None]:
        """Where the axis words of the block lead, by place; None where it cannot be told."""
        axes = self.words.axes()
        if not axes:
            return {}
        factor, position = self.factor, self.control.position
        absolute = self.is_absolute()
        found: dict[int, float | None] = {}
        for place, value in axes:
            figure = value * factor if value is not None and place < LINEAR else value
            here = position[place]
            if not absolute and figure is not None:
                figure = None if here is None else here + figure
            found[place] = figure
        return found

    def is_absolute(self) -> bool:
        """Whether axis words say where, not how far. Without G90 and G91 they do, and it is stated."""
        if self.control.absolute is None and not self.control.lathe:
            self.guess(_READ_AS_G90)
        return self.control.absolute is not False

    @property
    def read_as_g90(self) -> bool:
        """Whether it has been stated for the tool in hand that axis words are read so without G90 and G91."""
        return _READ_AS_G90 in self._said

    def steps(self, targets: Mapping[int, float | None]) -> Places:
        """What each axis travels to these targets; under G91 that is known wherever they stand."""
        found = steps_to(self.control.position, targets)
        if self.control.absolute is False and not self.control.lathe:
            for place, value in self.words.axes():
                if place in targets and found[place] is None and value is not None:
                    found[place] = value * self.factor if place < LINEAR else value
        return found

    # Moves

    def line(
        self,
        kind: str,
        code: str,
        targets: Mapping[int, float | None],
        *,
        steps: Places | None = None,
        hole: bool = False,
    ) -> None:
        """A straight move, `RAPID` or `FEED`, to ``targets`` (by place, base units; axes left out stay)."""
        if self.control.doubts:
            self.lose(targets)
            return
        if steps is None:
            steps = steps_to(self.control.position, targets)
        self.go(kind, code, targets, steps, straight(steps, lathe=self.control.lathe), hole=hole)

    def go(
        self,
        kind: str,
        code: str,
        targets: Mapping[int, float | None],
        steps: Places,
        length: float | None,
        *,
        arc: Arc | None = None,
        hole: bool = False,
    ) -> None:
        """A move of known way: put down where it ends and tell of it."""
        position = self.control.position
        start = tuple(position)
        for place, figure in targets.items():
            position[place] = figure
        minutes = None
        if kind != RAPID:
            leg = leg_of(start, tuple(position), arc) if self.control.lathe and not steps[1] else None
            minutes = self._minutes(length, leg, rotary=turns_rotary(steps))
            self._name_unknown(code, start)
        self.move(
            Move(
                kind=kind,
                code=code,
                start=start,
                end=tuple(position),
                arc=arc,
                length=length,
                minutes=minutes,
                hole=hole,
            )
        )

    def lose(self, places: Mapping[int, object] | Sequence[int] | None = None) -> None:
        """Where these axes stand (all, if not said) is not known from here on."""
        for place in range(len(AXES)) if places is None else places:
            self.control.position[place] = None

    def _minutes(self, length: float | None, leg: Leg | None, *, rotary: bool) -> float | None:
        control = self.control
        if rotary and control.feed_mode != INVERSE:
            self.name_once("rotary", "minutes of feed moves that turn a rotary axis, first")
            return None
        minutes = feed_minutes(control, length) if leg is None else leg_minutes(control, self.setting, leg)
        if minutes is None and length:
            why = "feed per minute or revolution" if control.feed else "F"
            if control.lathe:
                why = missing(control, leg)
            elif control.feed and control.feed_mode == PER_REVOLUTION:
                why = "speed under feed per revolution"
            self.name_once("minutes", f"minutes of feed moves without a known {why}, first")
        return minutes

    def _name_unknown(self, code: str, start: tuple[float | None, ...]) -> None:
        """Extents miss a feed move whose axes are not known; of a lathe Y counts once it is named."""
        position = self.control.position
        if None not in start[:LINEAR] and None not in position[:LINEAR]:
            return
        has_y = not self.control.lathe or position[1] is not None
        asked = [place for place in range(LINEAR) if place != 1 or has_y]
        unknown = [AXES[p] for p in asked if position[p] is None or start[p] is None]
        if unknown:
            axes = " ".join(unknown)
            verb = "is" if len(unknown) == 1 else "are"
            self.name_once("from " + axes, code, f"from where {axes} {verb} not known")


def _place(block: Block) -> str:
    """``line 12``, or ``line 12 of O1002`` in what is called."""
    if not block.depth:
        return f"line {block.line}"
    return f"line {block.line} of " + ("a called text" if block.program is None else f"O{block.program}")
