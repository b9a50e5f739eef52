"""Which T words only get the next tool ready.

A T word only stages when the next tool change (after the last one, the program's first) has a T of its own in its
block before its M6, and no other T, tool change, jump or label stands between, nor in a program called between; nor anything that
may read the T or run blocks that are not seen: a return to a caller, a custom or computed code, a variable that reads
the T (#4120 and its like, or any computed one), a line of another channel. In doubt the T counts as the tool that is
changed to.
"""

from collections.abc import Callable, Mapping

from tracker.frozen import dataclass
from tracker.nc import kinds_codes as codes
from tracker.nc.codes import PLAIN_G, code_of
from tracker.nc.compare_find import Found, blocks_holding
from tracker.nc.compare_tools import is_tool_change, tool_word
from tracker.nc.kinds_words import is_keyword

Reader = Callable[[int], bytes | None]
"""O number -> canonical text of a program in hand, or None."""

NEEDLES = (
    *(b"IF", b"T", b"M", b"G6", b"G25", b"N", b"O", b":", b"WHILE", b"DO", b"G#", b"G[", b"G+", b"G-"),
    *(b"4120", b"4320", b"4520", b"##", b"#[", b"#<", b"$", b"!", b"@", b"&"),
)
READS_T = ("4120", "4320", "4520", "##", "#[", "#<")
"""What is in the text of a block that may read the T (common practice, from memory) or any variable."""
DEEPEST = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """One program of a file: its number (None before the first O) and the blocks in it that matter."""

    number: int | None
    blocks: list[Found]


class Staging:
    """The T words of one canonical text, and what becomes of them."""

    def __init__(self, code: bytes, called: Reader | None = None) -> None:
        self._scopes = _scopes(blocks_holding(code, NEEDLES))
        self._called = called

    def only_stages(self, block: int) -> bool:
        """Whether the T words of a block only get a tool ready."""
        for scope in self._scopes:
            for place, found in enumerate(scope.blocks):
                if found.block == block:
                    return self._stages(scope, place)
        return False

    def _stages(self, scope: Scope, place: int) -> bool:
        here = scope.blocks[place]
        if is_tool_change(here) or not _short(tool_word(here)) or _count(here, "T") != 1:
            return False
        if _jumps(here) or _acts_unseen(here) or not self._quiet_calls(here, 0):
            return False
        if any(word.letter == "G" and not _is_known_g(word.number) for word in here.words):
            return False
        after = scope.blocks[place + 1 :] + scope.blocks[:place]
        for found in after:
            if is_tool_change(found):
                return _short(tool_word(found)) and not found.holds("/") and not _t_behind(found)
            if not self._is_quiet(found, 0):
                return False
        return False

    def _is_quiet(self, found: Found, depth: int) -> bool:
        """Whether nothing in the block can take, choose or skip a tool."""
        if found.holds("T") or is_tool_change(found) or _jumps(found) or _acts_unseen(found):
            return False
        if not depth and found.has("M", frozenset({"99"})):
            return False  # back to a caller that is not known
        return self._quiet_calls(found, depth)

    def _quiet_calls(self, found: Found, depth: int) -> bool:
        """Whether every program the block calls is in hand and quiet."""
        if found.has("G", frozenset({"65", "66", "66.1", "67", "25"})):
            return False
        if not found.has("M", frozenset({"98", "198"})):
            return True
        number = found.number("P")
        if number is None or not number.isdigit() or depth >= DEEPEST:
            return False
        bodies = [body for reading in readings(number) for body in self._bodies(reading)]
        return bool(bodies) and all(self._is_quiet(block, depth + 1) for body in bodies for block in body)

    def _bodies(self, number: int) -> list[list[Found]]:
        """The blocks that matter of a called program: in the same file, else among those in hand."""
        here = [scope.blocks for scope in self._scopes if scope.number == number]
        if here:
            return here
        code = self._called(number) if self._called else None
        if code is None:
            return []
        scopes = _scopes(blocks_holding(code, NEEDLES))
        return [scope.blocks for scope in scopes if scope.number == number] or [
            scope.blocks for scope in scopes
        ]


def readings(number: str) -> tuple[int, ...]:
    """Program numbers a P may name: ``51002`` is O51002, or O1002 five times (common practice, no source)."""
    if len(number) > 4:
        return int(number), int(number[-4:])
    return (int(number),)


def reader_of(programs: Mapping[int, bytes] | None, read: Callable[[bytes], bytes]) -> Reader | None:
    """Programs in hand by O number, read once each when asked for."""
    if programs is None:
        return None
    known: dict[int, bytes | None] = {}

    def called(number: int) -> bytes | None:
        if number not in known:
            data = programs.get(number)
            known[number] = None if data is None else read(data)
        return known[number]

    return called


def _scopes(found: list[Found]) -> list[Scope]:
    """Blocks by program: from a block-opening O or ``:`` number to the next."""
    scopes = [Scope(number=None, blocks=[])]
    for block in found:
        number = _opens(block)
        if number is not None:
            scopes.append(Scope(number=number, blocks=[]))
        else:
            scopes[-1].blocks.append(block)
    return scopes


def _opens(block: Found) -> int | None:
    """The number of a program that starts at this block."""
    first = block.words[0] if block.words else None
    if first is None or first.letter not in ("O", ":") or not first.number.isdigit():
        return None
    return int(first.number)


def _jumps(block: Found) -> bool:
    """Whether the order of blocks may change here: a label, a jump, a loop, a return to a place."""
    if any(word.letter == "N" or is_keyword(word) or not word.letter for word in block.words):
        return True
    if block.has("M", frozenset({"96", "97"})):
        return True
    return block.has("M", frozenset({"99"})) and block.holds("P")


def _acts_unseen(block: Found) -> bool:
    """Whether a block may read the T, or runs what is not seen: a computed code, an M of three digits, a channel."""
    if block.text[:1] in ("$", "!", "@", "&") or any(mark in block.text for mark in READS_T):
        return True
    for word in block.words:
        code = code_of(word.number)
        if word.letter in ("G", "M") and not code[:1].isdigit():
            return True
        if word.letter == "M" and len(code) > 2 and code != "198":
            return True
    return False


def _is_known_g(number: str) -> bool:
    """Whether a G takes no T as an argument: all but calls and codes that may be custom ones."""
    code = code_of(number)
    return code in PLAIN_G or code.partition(".")[0] in PLAIN_G or codes.is_cycle(code)


def _t_behind(change: Found) -> bool:
    """Whether the T stands behind the M6: some machines then take the tool that waits and get the T ready (from memory)."""
    letters = [word.letter for word in change.words if word.letter in ("T", "M")]
    return letters[-1:] == ["T"]


def _short(number: str | None) -> bool:
    return number is not None and number.isdigit() and len(number) <= 2


def _count(block: Found, letter: str) -> int:
    return sum(1 for word in block.words if word.letter == letter)
