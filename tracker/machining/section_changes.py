"""Which tool sections an edit changed.

Every section with a changed block, and each later one that uses, before setting it itself, something in force at its
tool change that is no longer what it was: a modal group, F, S, an offset, where an axis stands. Both texts are walked
side by side with what is in force kept as text; where the walk cannot follow, the answer is ``all``.
"""

from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from typing import Literal

from tracker.machining.program import Program
from tracker.machining.state import State, Ways
from tracker.machining.walk import CANCELS, Called, NotFollowedError, Ran, Walk
from tracker.nc.canonical import Reading
from tracker.nc.compare_change import Comparison, Stretch
from tracker.nc.compare_tools import tool_changes
from tracker.nc.difference import difference
from tracker.nc.scan import read

ALL: Literal["all"] = "all"
BEFORE_ALL = -1
Sections = tuple[str, ...] | Literal["all"]
Programs = Mapping[int, bytes]


def changed_sections(
    old: bytes,
    new: bytes,
    comparison: Comparison | None = None,
    *,
    strict: bool = False,
    lathe: bool = False,
    called: Programs | None = None,
    called_before: Programs | None = None,
) -> Sections:
    """Tools whose sections changed, in the order of the new program, or ``"all"``.

    Args:
        old: bytes of the earlier main program.
        new: bytes of the later one.
        comparison: what `tracker.nc.compare.compare` said of the two, if that is known already.
        strict: every line number counts as code (as for the comparison).
        lathe: lathe meanings; taken from ``comparison`` if one is given.
        called: programs in hand that ``new`` calls, by O number. A change in one is a change of every section that
            calls it, so with equal main programs this alone decides.
        called_before: the same for ``old``; None: as ``called``.
    """
    before, after = called_before if called_before is not None else called or {}, called or {}
    if old == new and dict(before) == dict(after):
        return ()
    readings = read(old, strict=strict), read(new, strict=strict)
    return of_readings(
        *readings,
        stretches=comparison.stretches if comparison else None,
        lathe=comparison.lathe if comparison else lathe,
        called=after,
        called_before=before,
    )


def of_readings(
    old: Reading,
    new: Reading,
    *,
    stretches: Sequence[Stretch] | None = None,
    lathe: bool = False,
    called: Programs,
    called_before: Programs,
) -> Sections:
    """`changed_sections` for texts that were read already."""
    if old.code == new.code and dict(called) == dict(called_before):
        return ()
    if old.dialect != "word-address" or new.dialect != "word-address":
        return ALL
    if stretches is None or (not stretches and old.code != new.code):
        stretches = difference(old.code, new.code).stretches
    try:
        return _Answer(old, new, Alignment(stretches), lathe=lathe, programs=(called_before, called)).tools()
    except NotFollowedError:
        return ALL


class Alignment:
    """Which blocks of two texts correspond."""

    def __init__(self, stretches: Sequence[Stretch]) -> None:
        self.stretches = stretches
        self._old = [stretch.old_from for stretch in stretches]
        self._new = [stretch.new_from for stretch in stretches]
        self._gone = {index for s in stretches for index in range(s.old_from, s.old_to)}
        self._come = {index for s in stretches for index in range(s.new_from, s.new_to)}

    @property
    def first(self) -> int:
        """The first block that differs."""
        return self.stretches[0].new_from if self.stretches else 1 << 62

    def old_changed(self, block: int) -> bool:
        """Whether a block of the old text is gone or became another."""
        return block in self._gone

    def new_changed(self, block: int) -> bool:
        """Whether a block of the new text is new or was another."""
        return block in self._come

    def gone(self, first: int, end: int) -> AbstractSet[int]:
        """Blocks of the old text in this span that are gone or became others."""
        return _within(self._gone, first, end)

    def come(self, first: int, end: int) -> AbstractSet[int]:
        """Blocks of the new text in this span that are new or were others."""
        return _within(self._come, first, end)

    def new_of(self, block: int) -> int | None:
        """The block of the new text that an old one is now, unchanged."""
        if self.old_changed(block):
            return None
        place = bisect_right(self._old, block)
        return block + (self.stretches[place - 1].new_to - self.stretches[place - 1].old_to if place else 0)

    def old_of(self, block: int) -> int | None:
        """The block of the old text that a new one was, unchanged."""
        if self.new_changed(block):
            return None
        # Stretches that only take away start where the next equal block of the new text stands.
        place = bisect_right(self._new, block)
        return block - (self.stretches[place - 1].new_to - self.stretches[place - 1].old_to if place else 0)

    def beside(self, block: int) -> range:
        """The new blocks that stand where an old block that is gone stood."""
        stretch = self.stretches[bisect_right(self._old, block) - 1]
        return range(stretch.new_from, stretch.new_to)


def _within(marked: AbstractSet[int], first: int, end: int) -> AbstractSet[int]:
    """The members of a span."""
    if end - first == 1:
        return {first} if first in marked else set()
    if len(marked) < end - first:
        return {index for index in marked if first <= index < end}
    return {index for index in range(first, end) if index in marked}


class _Answer:
    """One question, being worked out."""

    def __init__(
        self,
        old: Reading,
        new: Reading,
        alignment: Alignment,
        *,
        lathe: bool,
        programs: tuple[Programs, Programs],
    ) -> None:
        self._alignment = alignment
        self._lathe = lathe
        self._programs = programs
        self._ways = Ways()
        self._old, self._new = Program(old.code), Program(new.code)
        self._old_tools = {change.block: change.tool for change in tool_changes(old.code)}
        self._new_tools = {change.block: change.tool for change in tool_changes(new.code)}
        self._entered: dict[int, State] = {}
        self._starts = [BEFORE_ALL, *self._old_tools]
        self._texts = _texts(programs[0]), _texts(programs[1])

    def tools(self) -> Sections:
        """The answer.

        Raises:
            NotFollowedError: it cannot be told.
        """
        self._check_cancels()
        from_old = self._walk_old()
        from_new, left = self._walk_new()
        from_old |= left
        blocks = from_new | {block for gone in from_old for block in self._now(gone)}
        if BEFORE_ALL in blocks:
            return ALL
        tools = {self._new_tools[block]: None for block in sorted(blocks)}
        return tuple(tool for tool in tools if tool is not None) if None not in tools else ALL

    def _check_cancels(self) -> None:
        """A word that ends a shift and came, went or moved leaves the program's zero in doubt."""
        for stretch in self._alignment.stretches:
            gone = _cancels(self._old, range(stretch.old_from, stretch.old_to))
            if gone != _cancels(self._new, range(stretch.new_from, stretch.new_to)):
                raise NotFollowedError

    def _walk_old(self) -> set[int]:
        """Sections of the old text with a block that is gone; what was in force at each tool change is kept."""
        touched: set[int] = set()
        seen: set[int] = set()
        section = BEFORE_ALL
        walk = self._walk(self._old, self._old_tools, 0)
        for ran in walk.blocks():
            if ran.opens and ran.block is not None:
                section = ran.block
                self._entered[section] = State(ways=self._ways, values=dict(walk.state.values))
            gone = self._alignment.gone(ran.block, ran.end) if ran.block is not None else set()
            if gone:
                touched.add(section)
                seen |= gone
        self._all_seen(seen, sum(s.old_to - s.old_from for s in self._alignment.stretches))
        return touched

    def _walk_new(self) -> tuple[set[int], set[int]]:
        """Sections of the new text that changed, and those of the old one that lost a block to another section.

        A section changed if it has a new block, or one that was another section's, or uses what was left otherwise.
        """
        touched: set[int] = set()
        lost: set[int] = set()
        seen: set[int] = set()
        section = BEFORE_ALL
        left: set[str] = set()
        walk = self._walk(self._new, self._new_tools, 1)
        for ran in walk.blocks():
            if ran.opens and ran.block is not None:
                section, left = ran.block, self._left_otherwise(ran.block, walk.state)
            come = self._alignment.come(ran.block, ran.end) if ran.block is not None else set()
            seen |= come
            elsewhere = not ran.inside and ran.block is not None and self._were_elsewhere(ran, section, lost)
            if come or elsewhere or ran.changed or (left and (ran.unknown or left & ran.effect.uses)):
                touched.add(section)
            left -= ran.effect.sets.keys()
        self._all_seen(seen, sum(s.new_to - s.new_from for s in self._alignment.stretches))
        return touched, lost

    def _were_elsewhere(self, ran: Ran, section: int, lost: set[int]) -> bool:
        """Whether unchanged blocks belonged to another section before; such sections are added to ``lost``.

        Sections follow one another in the text, so of a row of blocks the first and the last unchanged one tell.
        """
        if ran.block is None:
            return False
        first = next(
            (
                old
                for block in range(ran.block, ran.end)
                if (old := self._alignment.old_of(block)) is not None
            ),
            None,
        )
        if first is None:
            return False
        last = next(
            old
            for block in range(ran.end - 1, ran.block - 1, -1)
            if (old := self._alignment.old_of(block)) is not None
        )
        before = self._starts
        places = range(bisect_right(before, first) - 1, bisect_right(before, last))
        others = {before[place] for place in places if self._new_start(before[place]) != section}
        lost |= others
        return bool(others)

    def _new_start(self, old_section: int) -> int | None:
        """Where a section of the old text begins now; None if its tool change is gone."""
        return BEFORE_ALL if old_section == BEFORE_ALL else self._alignment.new_of(old_section)

    def _left_otherwise(self, block: int, state: State) -> set[str]:
        """What is in force at a tool change and was something else there before."""
        was = self._alignment.old_of(block)
        return state.differing(self._entered[was]) if was in self._entered else set()

    def _all_seen(self, seen: set[int], count: int) -> None:
        """A changed block that no walk came by belongs to nothing that is known."""
        if len(seen) != count:
            raise NotFollowedError

    def _now(self, gone: int) -> set[int]:
        """The tool changes, in the new text, of an old section that lost blocks."""
        if gone == BEFORE_ALL:
            return {BEFORE_ALL}
        now = self._alignment.new_of(gone)
        if now is not None:
            return {now}
        same = {block for block, tool in self._new_tools.items() if tool == self._old_tools[gone]}
        instead = {block for block in self._alignment.beside(gone) if block in self._new_tools}
        return same or instead or {BEFORE_ALL}

    def _walk(self, program: Program, tools: Mapping[int, str | None], side: int) -> Walk:
        return Walk(
            program,
            State(ways=self._ways),
            lathe=self._lathe,
            opens=frozenset(tools),
            shifts_from=self._alignment.first,
            called=self._called(side),
        )

    def _called(self, side: int) -> Callable[[int], Called | None]:
        own, other = self._texts[side], self._texts[1 - side]

        def called(number: int) -> Called | None:
            code = own(number)
            if code is None:
                return None
            program, text = code
            counterpart = other(number)
            return Called(program=program, changed=counterpart is None or counterpart[1] != text)

        return called


def _texts(programs: Programs) -> Callable[[int], tuple[Program, bytes] | None]:
    """Programs in hand, read once when asked for."""
    known: dict[int, tuple[Program, bytes] | None] = {}

    def text(number: int) -> tuple[Program, bytes] | None:
        if number not in known:
            data = programs.get(number)
            code = None if data is None else read(data).code
            known[number] = None if code is None else (Program(code), code)
        return known[number]

    return text


def _cancels(program: Program, blocks: range) -> list[str]:
    found = [
        word.text
        for block in blocks
        if "G" in program.blocks[block]
        for word in program.words(block)
        if word.letter == "G" and word.number in CANCELS
    ]
    return sorted(found)
