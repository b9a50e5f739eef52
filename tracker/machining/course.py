"""Where a run is: the programs being run, one in another, and what is told to those who watch."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from tracker.machining.act import Act
from tracker.machining.control import Control
from tracker.machining.figures import bare_lengths, in_increments, resolve
from tracker.machining.jumps import OLabel, Pairs, o_labels, pairs_of
from tracker.machining.lines import ASSIGNS, BARE, DRIVES, FLOW, FORMULA, Line, LineReader, said_of
from tracker.machining.program import Span
from tracker.machining.reckon import figure
from tracker.machining.said import Said
from tracker.machining.setting import Setting
from tracker.machining.texts import Text, text_of
from tracker.machining.thin import Thin, whole
from tracker.machining.variables import SYSTEM, NotKnown, Variables
from tracker.machining.watch import Block, Event, Watcher
from tracker.nc.item import Word

ALARM, MESSAGE = 3000, 3006
"""Variables of macro-type controls: an alarm, a stop with a message (common practice, no source)."""

OFFSETS = ((2001, 2999), (5201, 5399), (7001, 7999), (10_001, 19_999))
"""Variables of macro-type controls that hold tool and work offsets (from memory)."""

NO_POINT = "lengths without a point are taken as written: how the machine reads them is not stated"
MAIN, M97, M98, MACRO_CALL, O_CALL = "main", "M97", "M98", "G65", "O"


@dataclass(frozen=True, slots=True)
class Arguments:
    """What the locals of a called macro begin with: figures (None: null), and those that cannot be told."""

    values: Mapping[int, float | None] = field(default_factory=dict)
    unknown: frozenset[int] = frozenset()
    ngc: bool = False


@dataclass(frozen=True, slots=True)
class Modal:
    """A macro that every motion block calls (G66); ``number`` None: it cannot be followed.

    ``before`` is the one that was in force at its G66, and is so again behind its G67.
    """

    text: str
    number: int | None
    arguments: Arguments
    times: int
    every_block: bool = False
    before: "Modal | None" = None


@dataclass(slots=True)
class Frame:
    """A program being run.

    Attributes:
        text, span: where it stands; labels are looked up in ``span``.
        kind: `MAIN`, `M97`, `M98`, `MACRO_CALL` or `O_CALL`.
        depth: 0 in the main program.
        program: its O number, or None.
        first, end: lines it runs from and to; ``at`` the next one.
        left: how often it is still to be run, this time counted.
        arguments: what its locals begin with, None if it has none of its own.
        modal: the modal call that is off while it runs.
        counts: times left of O repeat loops.
        framed: up to this line nothing but a frame stands in it.
        since: from this line on every line was run in turn; ``before`` are the changes of variables up to then.
        seen: changes of variables, and what they had decided, when it went back from a line last.
    """

    text: Text
    span: Span
    kind: str
    depth: int
    program: int | None
    first: int
    end: int
    at: int
    left: int = 1
    arguments: Arguments | None = None
    modal: Modal | None = None
    counts: dict[str, int] = field(default_factory=dict)
    framed: int = 0
    since: int = 0
    before: int = 0
    seen: dict[int, tuple[int, int]] = field(default_factory=dict)

    def jump(self, line: int, variables: Variables) -> None:
        """Go on at another line."""
        self.at = self.since = line
        self.before = variables.changes


class Course:
    """The run as a whole.

    Attributes:
        frames: the programs being run, the main one first; empty once the run is over.
        count: lines run.
        modal: the modal call in force.
        asks: `BARE` as long as lengths without a point have to be looked at.
        ending: an alarm that the block being run has set off, or nothing.
        decided: how often variables have decided what runs next.
    """

    def __init__(
        self,
        main: Text,
        reader: LineReader,
        setting: Setting,
        control: Control,
        watchers: Sequence[Watcher],
        *,
        read: Callable[[bytes], Thin] = whole,
    ) -> None:
        self.main = main
        self.setting = setting
        self.control = control
        self.watchers = tuple(watchers)
        self.variables = Variables(control.variables, main.family)
        self.act = Act(control, setting, self.watchers, contour=self._contour)
        self.frames: list[Frame] = []
        self.count = 0
        self.modal: Modal | None = None
        self._reader = reader
        self._read = read
        self._files: dict[int, Text | None] = {}
        self.ending = ""
        self.decided = 0
        self.asks = 0 if setting.decimal == "calculator" else BARE
        self._said: set[str] = set()
        self._pairs: dict[tuple[int, int, int], Pairs] = {}
        self._o_labels: dict[int, dict[str, OLabel]] = {}

    # What is told

    def where(self, block: Block) -> str:
        """``line 12``, or ``line 12 of O1002`` in another text."""
        frame = self.frames[-1] if self.frames else None
        if frame is None or frame.text is self.main:
            return f"line {block.line}"
        return f"line {block.line} of " + (
            f"O{block.program}" if block.program is not None else "a called text"
        )

    def say(self, block: Block, what: str, why: str = "", *, where: str = "") -> None:
        """Name what cannot be followed, once: ``M98 P5 at line 12: why``."""
        text = f"{what} at {where or self.where(block)}" + (f": {why}" if why else "")
        if text not in self._said:
            self._said.add(text)
            self.act.not_followed(block, text)

    def event(self, block: Block, what: str, value: str, detail: str = "") -> None:
        """Tell of something that happens at a block."""
        told = Event(what=what, value=value, detail=detail)
        for watcher in self.watchers:
            watcher.event(block, told, self.control)

    def do(self, block: Block, said: tuple[Said, ...]) -> None:
        """Let a block act; those who watch were handed it before."""
        if said:
            self.act.act(block, said)

    # Programs

    def push(self, frame: Frame) -> None:
        """Begin to run a program."""
        self.frames.append(frame)
        frame.since, frame.before = frame.at, self.variables.changes
        self.control.program = frame.program
        if frame.arguments is not None:
            self._enter(frame.arguments)

    def pop(self) -> None:
        """A program has run: once more, or back to where it was called."""
        frame = self.frames[-1]
        if frame.arguments is not None:
            self.variables.leave()
        if frame.left > 1:
            frame.left -= 1
            frame.counts.clear()
            frame.seen.clear()
            frame.jump(frame.first, self.variables)
            if frame.arguments is not None:
                self._enter(frame.arguments)
            return
        self.frames.pop()
        if frame.modal is not None:
            self.modal = frame.modal
        if self.frames:
            self.control.program = self.frames[-1].program

    def _enter(self, arguments: Arguments) -> None:
        self.variables.enter(arguments.values, arguments.unknown, ngc=arguments.ngc)

    def finish(self, block: Block, value: str) -> None:
        """The run is over."""
        self.event(block, "end", value)
        self.frames.clear()

    def file(self, number: int) -> Text | None:
        """The text of a called program that is in hand."""
        if number not in self._files:
            data = self.setting.called(number)
            self._files[number] = None if data is None else text_of(self._read(data), self._reader)
        return self._files[number]

    def unfollowed(self, *, locals_too: bool) -> None:
        """Something was called that is not seen: it may have moved anywhere and set any variable."""
        self.act.lose()
        self.variables.lose(locals_too=locals_too)

    def go_round(self, frame: Frame, index: int, begin: int, block: Block, what: str) -> None:
        """Go back from line ``index`` to ``begin``, unless nothing has changed that could ever end the loop.

        Where a program goes depends on its variables alone. If none has changed since the loop was begun, or since it
        came by here last, it goes round for ever; and so it does if none was asked since then, as with a counter of
        pieces.
        """
        changes = self.variables.changes
        still = begin >= frame.since and frame.before == changes
        changed, decided = frame.seen.get(index, (-1, -1))
        if (still or changed == changes or decided == self.decided) and self.modal is None:
            self.say(block, what, "goes round for ever, not run on")
            self.frames.clear()
            return
        frame.seen[index] = changes, self.decided
        frame.jump(begin, self.variables)

    def decide(self, *by: str) -> None:
        """What runs next is told by these figures or conditions."""
        self.decided += any("#" in text for text in by)

    # Labels and loops

    def pairs(self, frame: Frame) -> Pairs:
        """Loops and alternatives of the program being run."""
        key = (id(frame.text), frame.span.first, frame.span.end)
        if key not in self._pairs:
            self._pairs[key] = pairs_of(frame.text, frame.span)
        return self._pairs[key]

    def o_labels(self, text: Text) -> dict[str, OLabel]:
        """The O words with a keyword of a text."""
        if id(text) not in self._o_labels:
            self._o_labels[id(text)] = o_labels(text)
        return self._o_labels[id(text)]

    def labelled(self, frame: Frame, label: str) -> list[int]:
        """The lines of the program being run that have an N."""
        return frame.text.labels(frame.span).get(label.lstrip("0") or "0", [])

    def between(self, first: str, last: str) -> tuple[int, int] | None:
        """The lines of two labels of the program being run, in this order; None if they are not told."""
        if not self.frames:
            return None
        frame = self.frames[-1]
        begin, end = self.labelled(frame, first), self.labelled(frame, last)
        if len(begin) != 1 or len(end) != 1 or begin[0] > end[0]:
            return None
        return begin[0], end[0]

    def _contour(self, first: str, last: str) -> tuple[tuple[Block, tuple[Said, ...]], ...] | None:
        """The blocks of a contour; None where anything in it needs more than acting on its words.

        They count as lines run, so that no loop of cycles runs for ever.
        """
        lines = self.between(first, last)
        if lines is None:
            return None
        frame = self.frames[-1]
        self.count += lines[1] - lines[0] + 1
        found = []
        for index in range(lines[0], lines[1] + 1):
            line, block = frame.text.ready(index, frame.program, frame.depth)
            if line.why or line.holds & (FLOW | DRIVES):
                return None
            if line.skip is None or not self.setting.skip:
                found.append((block, self.by_rule(self.figures(line, block), block)))
        return tuple(found)

    # Figures

    def set(self, number: int, text: str) -> None:
        """A line that only sets a variable."""
        variables = self.variables
        try:
            value = figure(text, variables)
        except NotKnown:
            variables.write(number, None, known=False)
        else:
            variables.write(number, value)

    def figures(self, line: Line, block: Block, words: tuple[Word, ...] | None = None) -> tuple[Said, ...]:
        """The words of a line (or these of them) with their figures; what cannot be told is named."""
        if line.holds & (FORMULA | ASSIGNS):
            said = self._resolved(line.words if words is None else words, block)
        elif words is None:
            said = line.said
        else:
            said = tuple(said_of(word)[0] for word in words)
        return said

    def _resolved(self, words: tuple[Word, ...], block: Block) -> tuple[Said, ...]:
        found = resolve(words, self.variables)
        for text, why in found.unknown:
            self.say(block, text, why)
        for text, place, value in found.set:
            if isinstance(place, int) and place >= SYSTEM and self.variables.is_system(place):
                self._system(block, text, place, value)
        return tuple(found.said)

    def _system(self, block: Block, text: str, place: int, value: float | None) -> None:
        """A variable is set that the control answers for."""
        self.decided += place == ALARM
        if place == ALARM and value != 0.0:
            self.say(block, text, "an alarm ends the run")
            self.ending = f"#{ALARM}"
        elif place == MESSAGE:
            self.event(block, "stop", f"#{MESSAGE}")
        elif any(first <= place <= last for first, last in OFFSETS):
            self.event(block, "offset-written", text)
            self.act.lose()

    def by_rule(self, said: tuple[Said, ...], block: Block) -> tuple[Said, ...]:
        """The same words with the decimal rule of the machine applied to lengths without a point.

        Where it is not stated that is told, the first time one is met.
        """
        rule, motion, lathe = self.setting.decimal, self.control.motion, self.control.lathe
        if rule == "increment":
            taken = in_increments(said, self.control.units, motion, lathe=lathe)
            for before, after in zip(said, taken, strict=True):
                if after.value is None and before.value is not None:
                    self.say(block, before.word.text, "least increments of units that are not known")
            return taken
        if rule is None and self.asks and bare_lengths(said, motion, lathe=lathe):
            self.asks = 0
            self.act.block = block
            self.act.guess(NO_POINT)
        return said
