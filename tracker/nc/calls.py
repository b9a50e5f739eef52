"""What a program calls, which program numbers it holds, and what its first comments say.

A call's number is read every way a control may read it: ``M98 P51002`` is O51002 once, or O1002 five times. A call by
variable, expression or name cannot be followed and says so. A line that does not read as words is searched for calls
all the same. Files in another language are not searched.
"""

import re
from collections.abc import Iterator

from tracker.frozen import dataclass
from tracker.nc import comments, dialect, scan
from tracker.nc.canonical import source_of
from tracker.nc.item import Word
from tracker.nc.plan import survey
from tracker.nc.walk import OddLine, Walk

_CALLS = {("M", "97"), ("M", "98"), ("M", "198"), ("G", "65"), ("G", "66"), ("M", "96")}
_TURNING = {"70", "71", "72", "73"}
_UNREAD_CALL = re.compile(r"(?:(M)[ \t]*0*(9[678]|198)|(G)[ \t]*0*(6[56]))(?![0-9])|CALL", re.IGNORECASE)
_UNREAD_P = re.compile(r"P[ \t]*([0-9]{1,9})(?![0-9.])", re.IGNORECASE)
_UNREAD_RETURN = re.compile(r"M[ \t]*0*99(?![0-9])", re.IGNORECASE)
_PERCENT_NUMBER = re.compile(r"[ \t]*%[ \t]*[O:o][ \t]*([0-9]+)")
_MOST_DIGITS = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """One call.

    Attributes:
        line: physical number of its line.
        text: the line as written, without blanks around it.
        word: ``M98``, ``M97`` (a line number of the same program), ``M96``, ``M198``, ``G65``, ``G66``, or ``call``.
        readings: (program number, repeats), every way it may be read.
        variable: called by variable, expression or name: it cannot be followed.
    """

    line: int
    text: str
    word: str
    readings: tuple[tuple[int, int], ...]
    variable: bool


def calls(data: bytes) -> tuple[Call, ...]:
    """Every call of the program, in order."""
    if not scan.may_call(data):
        return ()
    return tuple(call for met in _odd_lines(data) for call in _calls_of(met))


def program_numbers(data: bytes) -> tuple[int, ...]:
    """O, colon and %O numbers, in order, as often as they stand there."""
    found = []
    for met in _odd_lines(data):
        percent = _PERCENT_NUMBER.match(met.text.decode("latin-1"))
        if percent and met.line.opens_scope:
            found.append(percent.group(1))
        elif met.line.opens_scope:
            found += [w.number for w in met.line.words if w.letter in ("O", ":")][:1]
    return tuple(int(digits) for digits in found if digits.isdigit() and len(digits) <= _MOST_DIGITS)


def needs_strict(data: bytes) -> bool:
    """Whether line numbers may be named from another program.

    That is so with M99 P, a call block with Q or H, or G70–G73 with an A word, on a line that reads as words or not.
    """
    return any(_names_across(met) for met in _odd_lines(data))


def header_comments(data: bytes) -> tuple[str, ...]:
    """The comments, without their marks, that stand before the first block other than a program number or ``%``."""
    found: list[str] = []
    source, walk = source_of(data), Walk()
    for page in source.pages():
        for met in walk.page(page):
            if not isinstance(met, OddLine):
                if met.text.strip():
                    return tuple(found)
                continue
            words = [word.letter for word in met.line.words if word.letter not in ("(", ";", "N")]
            if not (set(words) <= {"%"} or (met.line.opens_scope and len(words) == 1)):
                return tuple(found)
            found += _comments_of(met.text.decode("latin-1"))
    return tuple(found)


def _comments_of(text: str) -> list[str]:
    return [
        text[piece.start + 1 : piece.end - (piece.kind == "(")]
        for piece in comments.pieces(text)
        if piece.kind != "code"
    ]


def _odd_lines(data: bytes) -> Iterator[OddLine]:
    """The lines of a word-address file that are not simple; no simple line calls or names anything."""
    quick = scan.care_blocks(data)
    if quick is not None:
        yield from quick
        return
    source = source_of(data)
    plan = survey(source)
    if plan.dialect == dialect.VERBATIM:
        return
    walk = Walk(has_g11=plan.has_g11)
    for page in source.pages():
        for met in walk.page(page):
            if isinstance(met, OddLine) and met.line.kind == "block":
                yield met


def _calls_of(met: OddLine) -> list[Call]:
    text = met.text.decode("latin-1").strip(" \t")
    words = met.line.words
    if not met.line.reads or (words and words[0].letter == ""):
        return _unread_calls(met.number, text)
    found = []
    for index, word in enumerate(words):
        if (word.letter, word.number) in _CALLS:
            numbers = _by_number(words)
            name = word.letter + word.number
            found.append(Call(line=met.number, text=text, word=name, readings=numbers, variable=not numbers))
        elif word.letter == "CALL":
            name = words[index - 1].number
            numbers = ((int(name), 1),) if _is_whole(name) else ()
            found.append(
                Call(line=met.number, text=text, word="call", readings=numbers, variable=not numbers)
            )
    return found


def _by_number(words: tuple[Word, ...]) -> tuple[tuple[int, int], ...]:
    """Readings of the P and L of a call block; none if they are not whole numbers."""
    named = [word.number for word in words if word.letter == "P"]
    repeats = [word.number for word in words if word.letter == "L"]
    if len(named) != 1 or not _is_whole(named[0]):
        return ()
    times = int(repeats[-1]) if repeats and _is_whole(repeats[-1]) else 1
    packed = any(word.letter == "M" and word.number in ("98", "198") for word in words) and not repeats
    return _readings(named[0], times, packed=packed)


def _readings(digits: str, times: int, *, packed: bool) -> tuple[tuple[int, int], ...]:
    whole = (int(digits), times)
    if packed and len(digits) > 4 and int(digits[-4:]):
        return (whole, (int(digits[-4:]), int(digits[:-4])))
    return (whole,)


def _is_whole(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) <= _MOST_DIGITS


def _code_of(text: str) -> str:
    return "".join(text[piece.start : piece.end] for piece in comments.pieces(text) if piece.kind == "code")


def _unread_calls(line: int, text: str) -> list[Call]:
    """Calls on a line that does not read as words, as far as they can be made out."""
    code = _code_of(text)
    match = _UNREAD_CALL.search(code)
    if match is None:
        return []
    number = _UNREAD_P.search(code)
    word = "".join(group.upper() for group in match.groups() if group) or "call"
    readings = (
        _readings(number.group(1).lstrip("0") or "0", 1, packed=word in ("M98", "M198")) if number else ()
    )
    return [Call(line=line, text=text, word=word, readings=readings, variable=not readings)]


def _names_across(met: OddLine) -> bool:
    words = met.line.words
    letters = {word.letter for word in words}
    m = {word.number for word in words if word.letter == "M"}
    g = {word.number for word in words if word.letter == "G"}
    if not met.line.reads or "" in letters:
        code = _code_of(met.text.decode("latin-1")).upper()
        return bool(_UNREAD_RETURN.search(code) and "P" in code) or (
            bool(_UNREAD_CALL.search(code)) and ("Q" in code or "H" in code)
        )
    if "99" in m and "P" in letters:
        return True
    if letters & {"Q", "H"} and (m & {"96", "97", "98", "198"} or g & {"65", "66", "67"}):
        return True
    return bool(g & _TURNING and "A" in letters)
