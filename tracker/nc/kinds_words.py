"""The kind of change a word of a block belongs to: the first rule that fits.

A word is judged beside the other words of its block: P is a program number beside M98, a time beside G4, an offset
number beside G54.1, a depth beside G83. What no rule places is ``other``. A tool word comes out as ``tool``; whether
it only gets a tool ready is judged by what follows it (`kinds_precall`).
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tracker.nc import kinds as k
from tracker.nc import kinds_codes as codes
from tracker.nc.word import Word

AXES = frozenset("XYZABCUVW")
ARC = frozenset("IJKR")
CYCLE = frozenset("PQLHD")
OUTPUT = frozenset({"DPRNT", "BPRNT", "SETVN", "POPEN", "PCLOS"})
PLAIN_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """The words of a block and what the rules ask about it.

    ``g`` and ``m`` are the numbers of its G and M words, ``beside`` the letters of all its words.
    """

    words: Sequence[Word]
    g: frozenset[str]
    m: frozenset[str]
    beside: frozenset[str]
    lathe: bool

    @property
    def has_axis(self) -> bool:
        """Whether it names an axis."""
        return bool(self.beside & AXES)

    @property
    def moves(self) -> bool:
        """Whether arc and cycle words in it are those of a motion."""
        return self.has_axis or any(number in codes.LINE_G or codes.is_cycle(number) for number in self.g)

    @property
    def has_stop(self) -> bool:
        """Whether the operator acts on it."""
        return bool(self.m & codes.STOP_M)


_ALONE = {**dict.fromkeys(AXES | ARC, k.MOTION), "F": k.FEED, "S": k.SPEED}
"""What the rules say of words in a block without G and M: nothing there claims them."""


def block_of(words: Sequence[Word], *, lathe: bool) -> Block:
    """A block of these words, read with mill or lathe meanings."""
    return Block(
        words=words,
        g=frozenset(word.number for word in words if word.letter == "G"),
        m=frozenset(word.number for word in words if word.letter == "M"),
        beside=frozenset(word.letter for word in words),
        lathe=lathe,
    )


def kind_of(word: Word, block: Block) -> str:
    """The kind of change of one word of a block."""
    if (
        not block.g
        and not block.m
        and word.letter in _ALONE
        and "#" not in word.text
        and "[" not in word.text
    ):
        return _ALONE[word.letter]
    for kind, fits in _RULES:
        if fits(word, block):
            return kind
    return k.OTHER


def is_comment(word: Word) -> bool:
    """Whether the word is a comment that counts as code."""
    return word.letter in ("(", ";")


def is_plain(word: Word) -> bool:
    """Whether the word is a letter with a number written out."""
    return bool(PLAIN_NUMBER.fullmatch(word.number)) and word.text == word.letter + word.number


def is_keyword(word: Word) -> bool:
    """Whether the word is a statement such as IF, GOTO or, after an O word, CALL."""
    return len(word.letter) > 1 and word.letter.isalpha()


def _flow(word: Word, block: Block) -> bool:
    if is_comment(word) or word.letter in OUTPUT or word.letter in ('"', "%"):
        return False
    if word.letter in ("N", "/") or any(mark in word.text for mark in "#[=") or is_keyword(word):
        return True
    if word.letter == "M":
        return word.number in codes.FLOW_M
    if block.g & codes.CALL_G:
        return True
    if word.letter == "O":
        return not is_plain(word) or any(is_keyword(other) for other in block.words)
    return bool(block.m & codes.CALL_M) and word.letter in CYCLE


def _program_number(word: Word, _block: Block) -> bool:
    return word.letter in ("O", ":") or (word.text.startswith("%") and len(word.text) > 1)


def _stop(word: Word, block: Block) -> bool:
    if is_comment(word):
        return block.has_stop
    return word.letter == "M" and word.number in codes.STOP_M


def _data(block: Block) -> str | None:
    """What a G10 block writes."""
    if "10" not in block.g:
        return None
    numbers = [word.number for word in block.words if word.letter == "L"]
    if numbers and numbers[-1] in codes.OFFSET_DATA_L:
        return k.OFFSET
    return k.TOOL if not numbers or numbers[-1] in codes.TOOL_DATA_L else k.OTHER


def _tool(word: Word, block: Block) -> bool:
    if word.letter == "T" or (word.letter == "M" and word.number == "6") or _data(block) == k.TOOL:
        return True
    if word.letter == "G":
        return word.number in codes.LENGTH_G or word.number in codes.RADIUS_G
    if word.letter == "H":
        return bool(block.g & codes.LENGTH_G) or (not block.lathe and not _in_cycle(block))
    if word.letter == "D":
        return bool(block.g & codes.RADIUS_G) or (not block.lathe and not _in_cycle(block))
    return False


def _in_cycle(block: Block) -> bool:
    return any(codes.is_cycle(number) for number in block.g)


def _shifts(block: Block) -> bool:
    """Whether axis words of the block are figures of a shift, not a way to go."""
    if block.g & codes.SHIFT_G:
        return True
    if "50" in block.g:
        return True
    return "92" in block.g and not block.lathe


def _offset(word: Word, block: Block) -> bool:
    data = _data(block)
    if data is not None:
        return data == k.OFFSET
    if word.letter == "G":
        if word.number in ("50", "92"):
            return _shifts(block) and ("S" not in block.beside or block.has_axis)
        return word.number in codes.OFFSET_G
    if word.letter == "P" and "54.1" in block.g:
        return True
    return _shifts(block) and word.letter in AXES | ARC | {"P", "Q"}


def _feed(word: Word, block: Block) -> bool:
    return word.letter in ("F", "E") and _data(block) is None


def _speed(word: Word, block: Block) -> bool:
    if _data(block) is not None:
        return False
    if word.letter == "G":
        limits = word.number in ("50", "92") and "S" in block.beside and not block.has_axis
        return limits or word.number in codes.SPEED_G
    if word.letter == "M":
        return word.number in codes.SPEED_M
    turns_to = "19" in block.m and word.letter in ("P", "R") and not block.moves
    return word.letter == "S" or turns_to


def _mode(word: Word, block: Block) -> bool:
    if word.letter == "G":
        cycle = block.lathe and word.number in codes.LATHE_CYCLE_G and block.has_axis
        return word.number in codes.MODE_G and not cycle
    if word.letter == "M":
        return word.number in codes.MODE_M
    return word.letter in ("P", "Q") and bool(block.g & codes.PATH_MODE_G) and not _in_cycle(block)


def _coolant(word: Word, _block: Block) -> bool:
    return word.letter == "M" and word.number in codes.COOLANT_M


def _dwell(word: Word, block: Block) -> bool:
    if word.letter == "G":
        return word.number == "4"
    if "4" not in block.g or word.letter not in ("P", "X", "U"):
        return False
    goes = any(number in codes.LINE_G or codes.is_cycle(number) for number in block.g)
    return not goes and sum(other.letter in ("P", "X", "U") for other in block.words) == 1


def _motion(word: Word, block: Block) -> bool:
    if _data(block) is not None:
        return False
    if word.letter == "G":
        if word.number in codes.LINE_G or codes.is_cycle(word.number):
            return True
        return block.lathe and word.number in codes.LATHE_THREAD_G | codes.LATHE_CYCLE_G
    if word.letter.lstrip(",") in AXES | ARC:
        return True
    return word.letter in CYCLE and block.moves


_RULES: tuple[tuple[str, Callable[[Word, Block], bool]], ...] = (
    (k.FLOW, _flow),
    (k.PROGRAM_NUMBER, _program_number),
    (k.STOP, _stop),
    (k.TOOL, _tool),
    (k.OFFSET, _offset),
    (k.FEED, _feed),
    (k.SPEED, _speed),
    (k.MODE, _mode),
    (k.COOLANT, _coolant),
    (k.DWELL, _dwell),
    (k.MOTION, _motion),
)
