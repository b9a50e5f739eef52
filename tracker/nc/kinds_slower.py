"""Whether changed feeds and speeds are all lower, and by how much at most.

A change counts only where one F became another F, or one S another S, in the same block, both written out and both
with or both without a point. It does not count in tapping or threading, where feed and speed make the pitch: neither
where the word stands in such a cycle, nor where its value is still in force when one begins. Where that cannot be told
(a jump, a program that is not in hand, a subprogram that returns with it, a block that may use it unseen), there is
no figure.
"""

import re
from collections.abc import Sequence
from fractions import Fraction

from tracker.frozen import dataclass
from tracker.nc import kinds_codes as codes
from tracker.nc.codes import PLAIN_G, code_of
from tracker.nc.compare_find import Found, blocks_holding, start_of
from tracker.nc.compare_words import words_of
from tracker.nc.kinds_precall import Reader, readings
from tracker.nc.kinds_unseen import uses_unseen
from tracker.nc.kinds_words import PLAIN_NUMBER, is_keyword

DIGITS = 4
"""Decimals the ratio is cut to: cut, so that it never looks slower by less than it is."""

THREAD_NEEDLES = (
    *(b"G3%d" % figure for figure in range(2, 7)),
    *(b"G63", b"G74", b"G76", b"G78", b"G84", b"G88", b"G92", b"M29"),
)
WAY_NEEDLES = (
    b"GOTO",
    b"IF",
    b"WHILE",
    b"M96",
    b"M97",
    b"M98",
    b"M99",
    b"M198",
    b"G65",
    b"G66",
    b"G67",
    b"G25",
)
LEAVES_CYCLE = re.compile(rb"G(?:[0-3]|7\d|8\d)(?![\d])")
LEAVES_TAPPING_MODE = re.compile(rb"G6(?:1|1\.1|2|4)(?![\d])")
FULL_STOP = frozenset({"2", "30"})


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedChange:
    """One F or S that became another: its letter, both numbers, and the block on either side."""

    letter: str
    old: str
    new: str
    old_block: int
    new_block: int


def ratio(changes: Sequence[SpeedChange], old: "Threads", new: "Threads") -> float | None:
    """The lowest new/old of ``changes``; None if there is none, one rose, or one is no matter of going slower."""
    lowest: Fraction | None = None
    for change in changes:
        value = _ratio(change)
        if value is None or value > 1:
            return None
        if old.reaches(change.old_block, change.letter) or new.reaches(change.new_block, change.letter):
            return None
        lowest = value if lowest is None else min(lowest, value)
    if lowest is None:
        return None
    return float(Fraction(int(lowest * 10**DIGITS), 10**DIGITS))


def _ratio(change: SpeedChange) -> Fraction | None:
    """New by old, or None where the two numbers cannot be set against each other."""
    if ("." in change.old) != ("." in change.new):
        return None
    if not (PLAIN_NUMBER.fullmatch(change.old) and PLAIN_NUMBER.fullmatch(change.new)):
        return None
    old, new = Fraction(change.old), Fraction(change.new)
    return new / old if old > 0 and new >= 0 else None


class Threads:
    """Where one canonical text taps or threads."""

    def __init__(self, code: bytes, *, lathe: bool | None, called: Reader | None = None) -> None:
        self._code = code
        self._lathe = lathe
        self._called = called
        self._cycles: list[Found] | None = None
        self._ways: list[Found] | None = None
        self._ends: list[Found] | None = None

    def reaches(self, block: int, letter: str) -> bool:
        """Whether the F or S (``letter``) of a block has, or may have, to do with a pitch."""
        if self._is_argument(block):
            return True
        cycles, ways = self._known()
        if any(self._turns_back(way) for way in ways) and (cycles or any(map(_calls, ways))):
            return True
        start = start_of(self._code, block)
        end = self._code.find(b"\n", start)
        if self._stands_in(start, end):
            return True
        last = min(self._next_with(letter, end), self._end_after(start))
        if any(start <= cycle.start < last for cycle in cycles) or uses_unseen(self._code, start, last):
            return True
        return any(start <= way.start < last and not self._harmless(way) for way in ways)

    def _is_argument(self, block: int) -> bool:
        """Whether the figures of a block may be no feed or speed: a dwell's, an angle beside M19, an argument of a custom code."""
        start = start_of(self._code, block)
        text = self._code[start : self._code.find(b"\n", start)].decode("latin-1")
        return any(
            (word.letter == "M" and code_of(word.number) == "19")
            or (word.letter == "G" and code_of(word.number) == "4")
            or (word.letter == "G" and not (code_of(word.number) in PLAIN_G or codes.is_cycle(word.number)))
            for word in words_of(text)
        )

    def _known(self) -> tuple[list[Found], list[Found]]:
        if self._cycles is None or self._ways is None:
            found = blocks_holding(self._code, THREAD_NEEDLES)
            self._cycles = [block for block in found if self._threads(block)]
            self._ways = blocks_holding(self._code, WAY_NEEDLES)
        return self._cycles, self._ways

    def _threads(self, block: Found) -> bool:
        """Whether a block taps or threads; G92 is a threading cycle on a lathe, with axis words and a pitch."""
        if block.has("M", frozenset({"29"})):
            return True
        for word in block.words:
            if word.letter == "G" and codes.is_thread(word.number):
                return True
            if word.letter == "G" and word.number == "92" and self._lathe is not False:
                return any(block.holds(axis) for axis in "XZUW")
        return False

    def _stands_in(self, start: int, end: int) -> bool:
        """Whether the last cycle begun before or in the block still holds there."""
        cycles, _ = self._known()
        before = [cycle for cycle in cycles if cycle.start <= start]
        if not before:
            return False
        last = before[-1]
        leaves = LEAVES_TAPPING_MODE if last.has("G", frozenset({"63"})) else LEAVES_CYCLE
        return last.start == start or not leaves.search(self._code, last.end, end)

    def _next_with(self, letter: str, start: int) -> int:
        """Where the next block with this letter starts, or the length of the text."""
        needle = letter.encode("latin-1")
        at = self._code.find(needle, max(start, 0))
        while at >= 0:
            opens = self._code.rfind(b"\n", 0, at) + 1
            end = self._code.find(b"\n", at)
            text = self._code[opens : end if end >= 0 else None].decode("latin-1")
            if any(word.letter == letter for word in words_of(text)):
                return opens
            at = self._code.find(needle, end) if end >= 0 else -1
        return len(self._code)

    @staticmethod
    def _turns_back(way: Found) -> bool:
        """Whether the order of blocks is not the order of the text from here on."""
        if any(is_keyword(word) for word in way.words):
            return True
        return way.has("M", frozenset({"96", "97"})) or (way.has("M", frozenset({"99"})) and way.holds("P"))

    def _harmless(self, way: Found) -> bool:
        """Whether what a block calls is in hand and neither threads nor calls on.

        M98 alone can be followed; M99 takes the value back to a caller that is not known.
        """
        if way.has("M", frozenset({"99"})):
            return False
        if not _calls(way):
            return True
        number = way.number("P")
        if (
            not way.has("M", frozenset({"98"}))
            or number is None
            or not number.isdigit()
            or self._called is None
        ):
            return False
        codes_found = [code for reading in readings(number) if (code := self._called(reading)) is not None]
        return bool(codes_found) and all(self._plain(code) for code in codes_found)

    def _plain(self, code: bytes) -> bool:
        inner = Threads(code, lathe=self._lathe)
        cycles, ways = inner._known()
        return not cycles and not any(_calls(way) or self._turns_back(way) for way in ways)

    def _end_after(self, start: int) -> int:
        """Where the program that holds byte ``start`` ends by M2 or M30, or the length of the text."""
        if self._ends is None:
            found = blocks_holding(self._code, (b"M2", b"M30"))
            self._ends = [block for block in found if block.has("M", FULL_STOP)]
        return next((end.start for end in self._ends if end.start >= start), len(self._code))


def _calls(way: Found) -> bool:
    return way.has("M", frozenset({"98", "198"})) or way.has("G", frozenset({"65", "66", "66.1", "67", "25"}))
