"""What is in force at a block, and what a block takes from it.

Values are not computed but kept as they were written, together with what they depend on: a position is the text of
its word with the units, distance mode and offsets it was written under. Two programs have the same value in force only
if it came about the same way. That can call equal things different, never different things equal.

Items: the modal groups of `tracker.machining.modal` by name, and ``F``, ``S``, ``H``, ``D``, ``T`` (called for, not
yet changed to), ``cycle`` (the words of the cycle in force), ``limit`` (of the spindle), ``X`` ``Y`` ``Z`` ``A`` ``B``
``C`` (where the axes stand).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tracker.machining.modal import group_of
from tracker.nc import kinds_codes as codes
from tracker.nc.word import Word

AXES = ("X", "Y", "Z", "A", "B", "C")
STEPS = {"U": "X", "V": "Y", "W": "Z"}
"""On a lathe letters that name an axis and go from where it stands."""
FRAME = ("units", "distance", "polar", "diameter", "offset")
LENGTH = ("length", "H")
LATHE_FRAME = ("units", "offset", "T")
CUT = (
    "F",
    "feed-mode",
    "S",
    "speed-mode",
    "limit",
    "spindle",
    *("coolant", "mist", "through"),
    "path",
    "override",
)
ITEMS = (
    *("motion", "plane", "arc-distance", "radius", "D", "retract", "T", "cycle"),
    *(*FRAME, *LENGTH, *CUT, *AXES),
)
COOLANT = {
    "7": ("mist",),
    "8": ("coolant",),
    "9": ("coolant", "mist"),
    "88": ("through",),
    "89": ("through",),
}
LATHE_CYCLES = frozenset({"70", "71", "72", "73", "74", "75", "76"})

Value = int
"""Number of a way in which a value came about; equal numbers, equal ways."""


class Ways:
    """Numbers for ways, shared by the two walks that are set against each other."""

    def __init__(self) -> None:
        self._numbers: dict[tuple[object, ...], Value] = {}

    def of(self, *way: object) -> Value:
        """The number of this way: a name, texts, and numbers of other ways it depends on."""
        return self._numbers.setdefault(way, len(self._numbers))


@dataclass(slots=True)
class State:
    """What is in force, by item. What was never set is the way it was at the start."""

    ways: Ways
    values: dict[str, Value] = field(default_factory=dict)

    def get(self, item: str) -> Value:
        """The value of an item."""
        value = self.values.get(item)
        return self.ways.of("start", item) if value is None else value

    def differing(self, other: "State") -> set[str]:
        """Items that are not the same in the other state."""
        return {item for item in ITEMS if self.get(item) != other.get(item)}

    def spoil(self, *why: object) -> None:
        """Every item depends, from here on, on ``why`` and on everything that was in force."""
        before = tuple(self.get(item) for item in ITEMS)
        self.values = {item: self.ways.of("after", why, before, item) for item in ITEMS}


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What a block does: items whose value from before it uses, and items it sets."""

    uses: frozenset[str]
    sets: Mapping[str, Value]


def frame_of(axis: str, plane: Value, ways: Ways, *, lathe: bool) -> tuple[str, ...]:
    """The items a word of an axis is read against: tool length counts on Z in the XY plane, else maybe on any."""
    if lathe:
        return LATHE_FRAME
    return (*FRAME, *LENGTH) if axis == "Z" or plane != ways.of("plane", "G17") else FRAME


def effect(words: Sequence[Word], state: State, *, lathe: bool) -> Effect:
    """The effect of a block that is neither a call nor a shift of the program's zero.

    ``state`` is what is in force before it. The modal words of a block are in force for its own motion.
    """
    step = _Step(words, state, lathe=lathe)
    step.modal()
    step.motion()
    return Effect(uses=frozenset(step.uses), sets=step.sets)


class _Step:
    """One block being worked out."""

    def __init__(self, words: Sequence[Word], state: State, *, lathe: bool) -> None:
        self.words = words
        self.state = state
        self.lathe = lathe
        self.g = {word.number for word in words if word.letter == "G"}
        self.frame = LATHE_FRAME if lathe else FRAME
        self.uses: set[str] = set()
        self.sets: dict[str, Value] = {}

    def modal(self) -> None:
        """Words that set something, apart from where the axes go."""
        for word in self.words:
            group = group_of(word.letter, word.number, lathe=self.lathe)
            if word.letter == "M" and word.number in COOLANT:
                self.sets.update({item: self._way(item, word.text) for item in COOLANT[word.number]})
            elif group is not None and group.name in ITEMS:
                self._set_group(group.name, word)
            elif word.letter in ("F", "S", "H", "D", "T"):
                self.sets[word.letter] = self._way(word.letter, word.text)
        if self.g & {"50", "92"} and "S" in self.sets:
            self.sets["limit"] = self.sets.pop("S")
        self._machine_words()

    def _set_group(self, name: str, word: Word) -> None:
        if name == "motion" and word.number == "80":
            # Beside a way to go G80 only ends the cycle; alone it leaves no motion in force (section 3.5.16.1).
            self.sets["cycle"] = self._way("cycle", "none")
            if any(self._is_motion(other) for other in self.words if other.number != "80"):
                return
        numbers = [other.text for other in self.words if other.letter == "P"] if word.number == "54.1" else []
        self.sets[name] = self._way(name, word.text, *numbers)
        if name == "motion" and not codes.is_cycle(word.number):
            self.sets["cycle"] = self._way("cycle", "none")

    def _is_motion(self, word: Word) -> bool:
        group = group_of(word.letter, word.number, lathe=self.lathe)
        return group is not None and group.name == "motion"

    def _machine_words(self) -> None:
        """M3 and M4 turn at the S in force; M6 takes the T called for."""
        for word in self.words:
            if word.letter == "M" and word.number in ("3", "4"):
                self._use("S", "speed-mode", "limit")
            if word.letter == "M" and word.number == "6":
                self._use("T")

    def motion(self) -> None:
        """Where the axes go, and what decides it."""
        named = [word for word in self.words if word.letter in AXES or (word.letter in STEPS)]
        if "4" in self.g or not (named or self._cycles_here()):
            return
        if self.g & {"28", "30"}:
            self._home(named)
            return
        if "53" in self.g:
            self._use("units")
            self._rest_of_axes(named)
            for word in named:
                self.sets[self._axis(word)] = self._way("machine", word.text, self._now("units"))
            return
        self._go(named)

    def _home(self, named: Sequence[Word]) -> None:
        """G28 and G30: by way of the named point; the named axes end at home."""
        self._use("units", "distance", "offset", "length", *AXES[:3])
        which = "G30" if "30" in self.g else "G28"
        for word in named:
            self.sets[self._axis(word)] = self._way("home", which)

    def _go(self, named: Sequence[Word]) -> None:
        self._use("motion", *self.frame, "radius")
        if self._now("radius") != self._way("radius", "G40"):
            self._use("D")
        kind = self._kind()
        if kind != "rapid":
            self._use(*CUT, *AXES[:3])
        if kind in ("arc", "cycle", "any"):
            self._use("plane", "arc-distance")
        if kind in ("cycle", "any"):
            self._use("retract", *LENGTH)
            self._cycle()
        self._rest_of_axes(named)
        for word in named:
            self._name(word)
        if kind in ("cycle", "any"):
            self._after_cycle(named)

    def _name(self, word: Word) -> None:
        """An axis word: where its axis stands from here on."""
        axis = self._axis(word)
        frame = self._frame(axis)
        self._use(*(item for item in LENGTH if self._has_length(axis)))
        if self._goes_on(word):
            self._use(axis)
            self.sets[axis] = self._way("step", word.text, frame, self._now(axis))
        else:
            self.sets[axis] = self._way("to", word.text, frame)

    def _frame(self, axis: str) -> tuple[Value, ...]:
        """What an axis word is read against."""
        return tuple(
            self._now(item) for item in frame_of(axis, self._now("plane"), self.state.ways, lathe=self.lathe)
        )

    def _has_length(self, axis: str) -> bool:
        return "H" in frame_of(axis, self._now("plane"), self.state.ways, lathe=self.lathe)

    def _kind(self) -> str:
        """Rapid, line, arc, cycle, or any of them where that is not known."""
        motion = self._now("motion")
        if self._cycles_here():
            return "cycle"
        for kind, numbers in (("rapid", ("0",)), ("line", ("1", "33")), ("arc", ("2", "3"))):
            if motion in {self._way("motion", "G" + number) for number in numbers}:
                return kind
        return "any"

    def _cycles_here(self) -> bool:
        if self.lathe and self.g & LATHE_CYCLES:
            return True
        return any(codes.is_cycle(number) and number != "80" for number in self.g)

    def _cycle(self) -> None:
        """The words of a cycle stay until it ends."""
        texts = tuple(word.text for word in self.words if word.letter in "ZRQPKLIJDH")
        if self._cycles_here():
            self.sets["cycle"] = self._way("cycle", texts, self._now("motion"))
        else:
            self._use("cycle")
            self.sets["cycle"] = self._way("cycle", texts, self._now("cycle"))

    def _after_cycle(self, named: Sequence[Word]) -> None:
        """Where a cycle leaves the axes depends on its words, the retract mode and where they stood.

        A drilling cycle in the XY plane with absolute words leaves X and Y where they were named.
        """
        stood = tuple(self.state.get(axis) for axis in AXES[:3])
        left = (self._now("cycle"), self._now("retract"), self._now("plane"), self._frame("Z"), stood)
        drills = self._cycles_here() or self._now("cycle") != self._way("cycle", "none")
        in_xy = not self.lathe and drills and self._now("plane") == self._way("plane", "G17")
        absolute = not any(self._goes_on(word) for word in named)
        for axis in ("Z",) if in_xy and absolute else AXES[:3]:
            self.sets[axis] = self._way("cycle left", axis, self._now(axis), left)

    def _rest_of_axes(self, named: Sequence[Word]) -> None:
        """The axes that are not named stay where they are, and the way goes along there."""
        going = {self._axis(word) for word in named}
        for axis in AXES:
            if axis not in going:
                self._use(axis)

    def _goes_on(self, word: Word) -> bool:
        """Whether the word is a step from where the axis stands, as far as can be told."""
        if word.letter in STEPS and self.lathe:
            return True
        if self.lathe:
            return False
        return self._now("distance") != self._way("distance", "G90")

    def _axis(self, word: Word) -> str:
        return STEPS.get(word.letter, word.letter)

    def _use(self, *items: str) -> None:
        self.uses.update(item for item in items if item not in self.sets)

    def _now(self, item: str) -> Value:
        return self.sets[item] if item in self.sets else self.state.get(item)

    def _way(self, *way: object) -> Value:
        return self.state.ways.of(*way)
