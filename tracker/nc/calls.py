"""What a program calls, which program numbers it holds, and what its first comments say.

A call's number is read every way a control may read it: ``M98 P51002`` is O51002 once, or O1002 five times. A call by
variable, expression or name cannot be followed and says so. A line that does not read as words is searched for calls
all the same, without its blanks, and so are the lines of a text in another language: a short program with one slip in
it is one. A comment that may be a block or a statement (`tracker.nc.comments`, rules 4 and 5) may be a call.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from tracker.frozen import replace
from tracker.nc import comments, dialect, scan
from tracker.nc.call import Call
from tracker.nc.canonical import source_of
from tracker.nc.codes import CALL_G, CALL_M, TURNING_G, code_of
from tracker.nc.item import Word
from tracker.nc.labels import VARIABLE
from tracker.nc.plan import survey
from tracker.nc.source import Source
from tracker.nc.walk import OddLine, Walk
from tracker.patterns import lazy_pattern

__all__ = ["Call", "all_said", "calls", "header_comments", "needs_strict", "program_lines", "program_numbers"]

_CALLS = {"M97", "M98", "M198", "G65", "G66", "G66.1", "M96"}
_UNREAD_CALL = lazy_pattern(
    r"(?:(M)\+?0*(9[678]|198)|(G)\+?0*(6[56]))(?![0-9])|(?<!TOOL)(?<!CYCL)CALL(?!LBL)"
)
_UNREAD_P = lazy_pattern(r"P\+?([0-9]{1,9})(?![0-9]|\.0*[1-9])")
_UNREAD_RETURN = lazy_pattern(r"M\+?0*99(?![0-9])")
_STATEMENT_CALL = lazy_pattern(r"\((?:[PM]?CALL|EXEC)P?([0-9]{1,9})(?![0-9])")
_BEHIND_LETTER = lazy_pattern(r"(?<=[A-Z])[ \t]+")
_NO_BLANKS = str.maketrans("", "", " \t")
_PERCENT_NUMBER = lazy_pattern(r"[ \t]*%[ \t]*[O:o][ \t]*([0-9]+)")
_MOST_DIGITS = 9
_PROGRAMS_KEPT = 32
_LONGEST_KEPT = 1 << 16


def calls(data: bytes) -> tuple[Call, ...]:
    """Every call of the program, in order."""
    if not scan.may_call(data):
        return ()
    foreign, lines = _odd_lines(data)
    return _calls_in(lines, foreign=foreign)


def all_said(blocks: Iterable[OddLine]) -> tuple[tuple[Call, ...], tuple[int, ...], bool]:
    """`calls`, `program_numbers` and `needs_strict` of a program whose `scan.care_blocks` are at hand."""
    blocks = tuple(blocks)
    numbers = tuple(number for _, number in _numbers_in(blocks))
    return _calls_in(blocks, foreign=False), numbers, any(map(_names_across, blocks))


def program_numbers(data: bytes) -> tuple[int, ...]:
    """O, colon and %O numbers, in order, as often as they stand there."""
    return tuple(number for _, number in program_lines(data))


def program_lines(data: bytes) -> tuple[tuple[int, int], ...]:
    """The same with the physical line, from 1, each stands on."""
    return _numbers_in(_odd_lines(data)[1])


def _calls_in(lines: Iterable[OddLine], *, foreign: bool) -> tuple[Call, ...]:
    return tuple(call for met in lines for call in _calls_of(met, foreign=foreign))


def _numbers_in(lines: Iterable[OddLine]) -> tuple[tuple[int, int], ...]:
    found = []
    for met in lines:
        percent = _PERCENT_NUMBER.match(met.text.decode("latin-1"))
        if percent and met.line.opens_scope:
            found.append((met.number, percent.group(1)))
        elif met.line.opens_scope:
            found += [(met.number, w.number) for w in met.line.words if w.letter in ("O", ":")][:1]
    return tuple(
        (at, int(digits)) for at, digits in found if digits.isdigit() and len(digits) <= _MOST_DIGITS
    )


def needs_strict(data: bytes) -> bool:
    """Whether line numbers may be named from another program.

    That is so with M99 P, a call block with Q or H, or G70–G73 with an A word, on a line that reads as words or not; and
    where a variable may read the last line number, which may be one of the caller.
    """
    return any(_names_across(met) for met in _odd_lines(data)[1])


def header_comments(data: bytes) -> tuple[str, ...]:
    """The comments, without their marks, that stand before the first block other than a program number or ``%``."""
    found: list[str] = []
    source, walk = source_of(data), Walk(wording_is_odd=True)
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


def _odd_lines(data: bytes) -> tuple[bool, Iterable[OddLine]]:
    """As `_look`; a program is looked at once, though it is asked for calls, numbers and labels in turn.

    Of short programs many are remembered, of long ones the last.
    """
    engine = scan.engine()
    if len(data) <= _LONGEST_KEPT:
        return _remembered(data, engine)
    return _look(data, _care_blocks(data, engine))


@lru_cache(maxsize=_PROGRAMS_KEPT)
def _remembered(data: bytes, engine: str) -> tuple[bool, Sequence[OddLine]]:  # noqa: ARG001 - each reads for itself
    foreign, lines = _look(data, scan.care_blocks(data))
    return foreign, tuple(lines)


@lru_cache(maxsize=1)
def _care_blocks(data: bytes, engine: str) -> list[OddLine] | None:  # noqa: ARG001 - as above
    return scan.care_blocks(data)


def _look(data: bytes, quick: list[OddLine] | None) -> tuple[bool, Iterable[OddLine]]:
    """Whether a file is in another language, and its lines that are not simple: no simple one calls or names anything."""
    if quick is not None:
        return False, quick
    source = source_of(data)
    plan = survey(source)
    if plan.binary:
        return True, ()
    return plan.dialect == dialect.VERBATIM, _walked(source, has_g11=plan.has_g11)


def _walked(source: Source, *, has_g11: bool) -> Iterator[OddLine]:
    walk = Walk(has_g11=has_g11)
    for page in source.pages():
        for met in walk.page(page):
            if isinstance(met, OddLine) and met.line.kind == "block":
                yield met


def _calls_of(met: OddLine, *, foreign: bool) -> list[Call]:
    text = met.text.decode("latin-1").strip(" \t")
    words = met.line.words
    if not met.line.reads or (words and words[0].letter == ""):
        found = _unread_calls(met.number, text)
        return [call for call in found if call.readings or call.word == "call" or not foreign]
    found = [_call(met.number, text, *said) for said in _said(words)]
    for word in words:
        found += [replace(call, doubtful=True) for call in _beside(met.number, text, word)]
    return found


def _call(line: int, text: str, word: str, readings: tuple[tuple[int, int], ...]) -> Call:
    return Call(line=line, text=text, word=word, readings=readings, variable=not readings)


def _said(words: Sequence[Word]) -> Iterator[tuple[str, tuple[tuple[int, int], ...]]]:
    """The calls of one block: their word and the readings of their number."""
    for index, word in enumerate(words):
        name = word.letter + code_of(word.number)
        if name in _CALLS:
            yield name, _by_number(words)
        elif word.letter == "CALL" and index:
            number = words[index - 1].number
            yield "call", ((int(number), 1),) if _is_whole(number) else ()


def _beside(line: int, text: str, word: Word) -> Iterator[Call]:
    """Calls in a comment that is code."""
    for items in comments.words_behind(word.text) if word.letter == ";" else ():
        for said in _said([item.word for item in items]):
            yield _call(line, text, *said)
    statement = _STATEMENT_CALL.match(word.text.translate(_NO_BLANKS).upper()) if word.letter == "(" else None
    if statement:
        yield _call(line, text, "call", ((int(statement.group(1)), 1),))


def _by_number(words: Sequence[Word]) -> tuple[tuple[int, int], ...]:
    """Readings of the P and L of a call block; none if they are not whole numbers."""
    named = [word.number for word in words if word.letter == "P"]
    repeats = [word.number for word in words if word.letter == "L"]
    if len(named) != 1 or not _is_whole(code_of(named[0])):
        return ()
    times = int(repeats[-1]) if repeats and _is_whole(repeats[-1]) else 1
    packed = (
        any(word.letter == "M" and code_of(word.number) in ("98", "198") for word in words) and not repeats
    )
    return _readings(code_of(named[0]), times, packed=packed)


def _readings(digits: str, times: int, *, packed: bool) -> tuple[tuple[int, int], ...]:
    whole = (int(digits), times)
    if packed and len(digits) > 4 and int(digits[-4:]):
        return (whole, (int(digits[-4:]), int(digits[:-4])))
    return (whole,)


def _is_whole(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) <= _MOST_DIGITS


def _codes_of(text: str) -> tuple[str, str]:
    """The code of a line that does not read as words, in upper case: without blanks, and with those behind a number.

    ``M9 8 P1002`` is a call to a control that sees no blanks, ``M97 300`` is one to a person.
    """
    code = "".join(text[piece.start : piece.end] for piece in comments.pieces(text) if piece.kind == "code")
    code = _BEHIND_LETTER.sub("", code.upper())
    return code.translate(_NO_BLANKS), code


def _unread_calls(line: int, text: str) -> list[Call]:
    """Calls on a line that does not read as words, as far as they can be made out: one for every number it may call."""
    codes = _codes_of(text)
    match = next((found for code in codes if (found := _UNREAD_CALL.search(code))), None)
    if match is None:
        return []
    word = "".join(group for group in match.groups() if group) or "call"
    numbers = [digits.lstrip("0") or "0" for code in codes for digits in _UNREAD_P.findall(code)]
    packed = word in ("M98", "M198")
    return [
        _call(line, text, word, _readings(digits, 1, packed=packed)) for digits in dict.fromkeys(numbers)
    ] or [_call(line, text, word, ())]


def _names_across(met: OddLine) -> bool:
    words = met.line.words
    if met.line.labels.wide_reason == VARIABLE:
        return True
    if not met.line.reads or any(word.letter == "" for word in words):
        return any(map(_unread_names_across, _codes_of(met.text.decode("latin-1"))))
    blocks = [items for word in words if word.letter == ";" for items in comments.words_behind(word.text)]
    return _block_names_across(words) or any(
        _block_names_across([item.word for item in items]) for items in blocks
    )


def _unread_names_across(code: str) -> bool:
    if _UNREAD_RETURN.search(code) and "P" in code:
        return True
    return bool(_UNREAD_CALL.search(code)) and ("Q" in code or "H" in code)


def _block_names_across(words: Sequence[Word]) -> bool:
    letters = {word.letter for word in words}
    m = {code_of(word.number) for word in words if word.letter == "M"}
    g = {code_of(word.number) for word in words if word.letter == "G"}
    if "99" in m and "P" in letters:
        return True
    if letters & {"Q", "H"} and (m & (CALL_M - {"99"}) or g & CALL_G):
        return True
    return bool(g & TURNING_G and "A" in letters)
