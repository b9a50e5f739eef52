"""Running through a program block by block, as far as text alone tells the order.

Called programs are walked where they are called, if they are in hand. A jump, a variable, a shift of the program's
zero or a tool change in a called program ends the walk: what follows cannot be told.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from tracker.machining.modal import group_of
from tracker.machining.program import Program, Span
from tracker.machining.run import row_effect
from tracker.machining.state import COOLANT, Effect, State, effect
from tracker.nc import kinds_codes as codes
from tracker.nc.kinds_precall import readings
from tracker.nc.kinds_words import is_comment, is_keyword
from tracker.nc.word import Word

DEEPEST = 8
END = frozenset({"2", "30", "99"})
MODAL_CALLS = frozenset({"66", "66.1", "67"})
SHIFTS = codes.SHIFT_G | {"10", "16", "50", "92", "92.1", "92.2", "92.3"}
CANCELS = frozenset({"15", "50", "50.1", "69"})
"""They end a shift; harmless where none is in force."""
KNOWN_M = frozenset({"0", "1", "2", "6", "30", "60", "98", "99", "19", "29", *COOLANT})
KNOWN_G = frozenset({"4", "11", "28", "30", "53", *CANCELS})
CONTOUR = frozenset({"70", "71", "72", "73"})
NOTHING = Effect(uses=frozenset(), sets={})


class NotFollowedError(Exception):
    """The order of blocks, or where the program's zero lies, cannot be told from the text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Called:
    """A called program, and whether it is another text than it was."""

    program: Program
    changed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """One block as it is run.

    ``block`` is its index in the main text, None inside another program; ``end`` the index after it, or after the row
    of blocks it stands for; ``inside`` whether it runs as part of a call
    or a contour; ``opens`` whether it is a tool change; ``unknown`` whether it may use and set anything; ``changed`` whether it belongs to a called program that is not
    what it was; ``effect`` what it does otherwise.
    """

    block: int | None
    end: int = 0
    inside: bool = False
    opens: bool = False
    unknown: bool = False
    changed: bool = False
    effect: Effect = NOTHING


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where the walk is: in which program, how deep in calls, and whether that program was changed."""

    program: Program
    depth: int = 0
    changed: bool = False


class Walk:
    """A walk through one text; ``state`` is what is in force before the block just handed out.

    Args:
        program: the text.
        state: what is in force at its start.
        lathe: whether words have lathe meanings.
        opens: blocks that are tool changes.
        shifts_from: from this block on a shift of the program's zero ends the walk; before it, it is the same for
            whoever asks.
        called: programs in hand.
    """

    def __init__(
        self,
        program: Program,
        state: State,
        *,
        lathe: bool,
        opens: frozenset[int],
        shifts_from: int,
        called: Callable[[int], Called | None],
    ) -> None:
        self.state = state
        self._program = program
        self._lathe = lathe
        self._opens = opens
        self._shifts_from = shifts_from
        self._called = called

    def blocks(self) -> Iterator[Ran]:
        """Every block as it is run.

        Raises:
            NotFollowedError: see the module.
        """
        yield from self._span(self._program.main, Place(program=self._program))

    def _span(self, span: Span, place: Place) -> Iterator[Ran]:
        index = span.first
        while index < span.end:
            row_end = place.program.rows.get(index, 0)
            if index < row_end <= span.end and index > span.first:
                yield from self._row(index, row_end, place)
                index = row_end
                continue
            row = place.program.words(index)
            if not row or (row[0].letter in ("O", ":", "%") and len(row) == 1):
                yield self._ran(index, place)
            else:
                self._check(row, index, place)
                yield from self._block(row, index, place)
                yield from self._contour(row, span, place)
                yield from self._calls(row, place)
                if any(word.letter == "M" and word.number in END for word in row):
                    return
            index += 1

    def _ran(
        self, index: int, place: Place, done: Effect = NOTHING, *, end: int = 0, unknown: bool = False
    ) -> Ran:
        mine = place.program is self._program
        return Ran(
            block=index if mine else None,
            end=end or index + 1,
            inside=bool(place.depth),
            opens=mine and index in self._opens,
            unknown=unknown,
            changed=place.changed,
            effect=done,
        )

    def _row(self, first: int, end: int, place: Place) -> Iterator[Ran]:
        """A long row of blocks that only go on cutting."""
        done = row_effect(place.program.row_text(first, end), self.state, lathe=self._lathe)
        yield self._ran(first, place, done, end=end)
        self.state.values.update(done.sets)

    def _check(self, row: tuple[Word, ...], index: int, place: Place) -> None:
        """Stop where the text does not tell what comes next."""
        if not keeps_order(row):
            raise NotFollowedError
        mine = place.program is self._program
        if (not mine or index >= self._shifts_from) and shifts(row, lathe=self._lathe):
            raise NotFollowedError
        if not mine and any(word.letter == "T" or word.text == "M6" for word in row):
            raise NotFollowedError
        if mine and index in self._opens and (place.depth or row[0].letter == "/"):
            raise NotFollowedError
        if not place.depth and any(word.text == "M99" for word in row):
            raise NotFollowedError

    def _block(self, row: tuple[Word, ...], index: int, place: Place) -> Iterator[Ran]:
        done = effect(row, self.state, lathe=self._lathe)
        if row[0].letter == "/":
            done = self._maybe(done)
        unknown = not all(is_known(word, lathe=self._lathe) for word in row)
        yield self._ran(index, place, done, unknown=unknown)
        if unknown:
            self.state.spoil("unknown", tuple(word.text for word in row))
        self.state.values.update(done.sets)

    def _maybe(self, done: Effect) -> Effect:
        """A block that can be skipped: what it sets depends on a switch and on what was in force."""
        ways = self.state.ways
        sets = {item: ways.of("maybe", value, self.state.get(item)) for item, value in done.sets.items()}
        return Effect(uses=done.uses | frozenset(sets), sets=sets)

    def _contour(self, row: tuple[Word, ...], span: Span, place: Place) -> Iterator[Ran]:
        """A turning cycle that names a contour by its labels runs the blocks between them too."""
        labels = [word.number for word in row if word.letter in ("P", "Q")]
        if not self._lathe or len(labels) != 2:
            return
        if not any(word.letter == "G" and word.number in CONTOUR for word in row):
            return
        ends = [place.program.label(label, span) for label in labels]
        first, last = ends
        if first is None or last is None or first > last or place.depth >= DEEPEST:
            raise NotFollowedError
        inside = Place(program=place.program, depth=place.depth + 1, changed=place.changed)
        yield from self._span(Span(number=None, first=first, end=last + 1), inside)

    def _calls(self, row: tuple[Word, ...], place: Place) -> Iterator[Ran]:
        """The program a block calls. One that is not in hand, or may be one of two, can do anything."""
        if not any(word.letter == "M" and word.number == "98" for word in row):
            return
        number = next((word.number for word in row if word.letter == "P"), "")
        bodies = self._bodies(place, number) if number.isdigit() else []
        if len(bodies) != 1 or place.depth >= DEEPEST:
            yield Ran(block=None, inside=True, unknown=True)
            self.state.spoil("call", tuple(word.text for word in row))
            return
        span, inside = bodies[0]
        # Twice stands for any number of times: what the second run does not use, no later one does.
        for _ in range(2):
            yield from self._span(span, inside)

    def _bodies(self, place: Place, number: str) -> list[tuple[Span, Place]]:
        found: list[tuple[Span, Place]] = []
        deeper = place.depth + 1
        for reading in readings(number):
            here = place.program.by_number.get(reading)
            called = None if here else self._called(reading)
            if here:
                found.append((here, Place(program=place.program, depth=deeper, changed=place.changed)))
            elif called:
                span = called.program.by_number.get(reading) or called.program.main
                found.append((span, Place(program=called.program, depth=deeper, changed=called.changed)))
        return found


def keeps_order(row: tuple[Word, ...]) -> bool:
    """Whether a block neither jumps nor reckons nor calls by rules of its own."""
    for word in row:
        if is_comment(word):
            continue
        if (
            not word.letter
            or is_keyword(word)
            or word.letter == '"'
            or any(mark in word.text for mark in "#[")
        ):
            return False
        if word.letter == "M" and word.number in ("96", "97", "198"):
            return False
        if word.letter == "G" and word.number in MODAL_CALLS:
            return False
        if word.text == "M99" and any(other.letter == "P" for other in row):
            return False
    return True


def shifts(row: tuple[Word, ...], *, lathe: bool) -> bool:
    """Whether a block moves the program's zero or changes how figures are read against it."""
    axes = any(word.letter in "XYZUVWABC" for word in row if word.letter)
    limits = any(word.letter == "S" for word in row)
    for word in row:
        if word.letter != "G" or word.number not in SHIFTS:
            continue
        if word.number == "50" and not axes:
            continue
        if word.number == "92" and (lathe or (limits and not axes)):
            continue
        return True
    return False


def is_known(word: Word, *, lathe: bool) -> bool:
    """Whether what a word does to later blocks is known."""
    if word.letter == "M":
        return word.number in KNOWN_M or group_of("M", word.number, lathe=lathe) is not None
    if word.letter == "G":
        known = word.number in KNOWN_G | SHIFTS or codes.is_cycle(word.number)
        return known or group_of("G", word.number, lathe=lathe) is not None
    return word.letter != "E"
