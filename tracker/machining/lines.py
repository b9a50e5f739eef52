"""Lines of a program as they are run: read once each, with their figures where these are plain numbers.

`Line.plain` says that a line goes straight to what acts: nothing but words with plain numbers, none of which the
order of blocks depends on. Most lines of most programs are, and of these `Line.simple` ones hold nothing but words and
a line number.
"""

import re
from typing import ClassVar

from tracker.frozen import dataclass
from tracker.machining.said import Said
from tracker.nc import comments, number
from tracker.nc.block import O_KEYWORDS
from tracker.nc.codes import code_of
from tracker.nc.item import Word
from tracker.nc.reader import careful_line

DRIVEN = frozenset(
    {"M2", "M30", "M96", "M97", "M98", "M99", "M198"}
    | {"G65", "G66", "G66.1", "G67", "G10", "G70", "G71", "G72", "G73"}
)
"""Words that the order of blocks depends on."""

LENGTHS = frozenset({*"XYZUVWABCIJKRQ", ",C", ",R", ",A"})
"""Letters whose figures without a point may be meant in least increments."""

FORMULA = 1
ASSIGNS = 2
FLOW = 4
DRIVES = 8
BARE = 16
"""What there is in a line: figures to be worked out, assignments, keywords, words of `DRIVEN`, a length without a point."""

_KEEP_WORDS = 100_000
_KEEP_LINES = 4096
_LONG = 256
"""Characters of a line that is kept for the next time it is met, at most."""
_SIMPLE = re.compile(
    r"[ \t]*+(?:[Nn][ \t]*+([0-9]++)[ \t]*+)?+((?:[A-MP-Za-mp-z][ \t]*+[-+]?+(?:[0-9]++\.?+[0-9]*+|\.[0-9]++)[ \t]*+)*+)"
)
_WORD = re.compile(r"([A-Z])[ \t]*+([-+]?+)([0-9.]++)")
PLAIN = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
_PERCENT_NUMBER = re.compile(r"[ \t]*%[ \t]*[O:o][ \t]*([0-9]+)")
_MOST_DIGITS = 9
_SURE = 300
"""So many digits are within the bounds of a float."""


WORDS, SETS, KEYWORDS, O_WORDS, ODD = "words", "sets", "keywords", "o-words", "odd"
OWN_KEYWORDS = frozenset({"IF", "THEN", "ELSE", "ENDIF", "GOTO", "WHILE", "DO", "END"})
"""Keywords of macro-type controls that the order of blocks depends on."""

_SETS = re.compile(r"#([0-9]{1,3})=(.+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line.

    Attributes:
        number: its N (``"N120"``), or None.
        skip: the block skip it opens with, or None.
        words: without N, that skip and comments; none if it does not read as words.
        said: the same with figures; None for a figure that has to be worked out. Keywords are not among them.
        comments: without their brackets.
        holds: of `FORMULA`, `ASSIGNS`, `FLOW`, `DRIVES`, `BARE`: what is in it.
        plain: nothing in it but maybe `BARE` asks for more than acting on ``said``.
        simple: nothing but a line number and plain words; no comment, no skip.
        why: why it does not read as words, or nothing.
        percent: it opens with ``%``.
        opens: it opens a program, ``program`` its number if that is told.
        acting: comments that some controls act on or read as statements.
        kind: how it is run: `WORDS`, `SETS` (one variable: ``sets``), `KEYWORDS`, `O_WORDS` or `ODD`.
        sets: number of the variable and the text of its value.
    """

    number: str | None = None
    skip: str | None = None
    words: tuple[Word, ...] = ()
    said: tuple[Said, ...] = ()
    comments: tuple[str, ...] = ()
    holds: int = 0
    plain: bool = True
    simple: bool = False
    why: str = ""
    percent: bool = False
    opens: bool = False
    program: int | None = None
    acting: tuple[str, ...] = ()
    kind: str = WORDS
    sets: tuple[int, str] = (0, "")


class LineReader:
    """Reads lines; knows the lines and words any reader met: programs share many of them."""

    _met: ClassVar[dict[str, Line]] = {}
    _words: ClassVar[dict[tuple[str, str, str], tuple[Said, int]]] = {}

    def read(self, text: str) -> Line:
        """One line (latin-1 text without its line end)."""
        line = self._met.get(text)
        if line is None:
            match = _SIMPLE.fullmatch(text)
            line = self._careful(text) if match is None else self._simple(match.group(1), match.group(2))
            if len(text) <= _LONG:
                if len(self._met) >= _KEEP_LINES:
                    self._met.clear()
                self._met[text] = line
        return line

    def _simple(self, digits: str | None, text: str) -> Line:
        words = self._words
        said, holds = [], 0
        for key in _WORD.findall(text.upper()):
            met = words.get(key)
            if met is None:
                met = self._word(key)
            said.append(met[0])
            holds |= met[1]
        return Line(
            number="N" + digits if digits else None,
            words=tuple([each.word for each in said]),
            said=tuple(said),
            holds=holds,
            plain=not holds & DRIVES,
            simple=True,
        )

    def _word(self, key: tuple[str, str, str]) -> tuple[Said, int]:
        """A plain word: letter, sign, digits."""
        letter, sign, digits = key
        spelled = number.of_letter(letter, sign, digits)
        word = Word(letter, spelled, letter + spelled)
        if "." in digits and letter in LENGTHS and len(digits) < _SURE:
            met = Said(letter, float(sign + digits), word), 0
        else:
            met = said_of(word)
        if len(self._words) >= _KEEP_WORDS:
            self._words.clear()
        self._words[key] = met
        return met

    def _careful(self, text: str) -> Line:
        read = careful_line(text)
        remarks = tuple(_remarks(text))
        number_word = "N" + read.number if read.number else None
        if read.kind == "percent":
            return Line(comments=remarks, plain=False, percent=True, kind=ODD)
        if read.kind == "blank":
            return Line(comments=remarks, number=number_word)
        if not read.reads or (read.words and read.words[0].letter == ""):
            why = "is for another channel" if read.reads else "does not read as words"
            return Line(comments=remarks, number=number_word, plain=False, why=why, kind=ODD)
        skip, own = _own_words(read.words, numbered=bool(read.number))
        acting = tuple(word.text for word in read.words if word.letter in ("(", ";") and _acts(word.text))
        told = [said_of(word) for word in own]
        holds = 0
        for _, flags in told:
            holds |= flags
        percent = bool(own) and own[0].letter == "%"
        plain = not (holds & ~BARE or acting or percent or read.opens_scope)
        return Line(
            number=number_word,
            skip=skip,
            words=own,
            said=tuple(said for said, _ in told),
            comments=remarks,
            holds=holds,
            plain=plain,
            percent=percent,
            opens=read.opens_scope,
            program=_program_number(own, text) if read.opens_scope else None,
            acting=acting,
            kind=ODD if acting or percent else _kind(own),
            sets=_set(own),
        )


def _kind(words: tuple[Word, ...]) -> str:
    letters = [word.letter for word in words]
    if "/" in letters:
        return ODD
    if len(letters) > 1 and letters[0] in ("O", ":") and letters[1] in O_KEYWORDS:
        return O_WORDS
    if not OWN_KEYWORDS.isdisjoint(letters):
        return KEYWORDS
    return SETS if _set(words)[0] else WORDS


def _set(words: tuple[Word, ...]) -> tuple[int, str]:
    """The variable that is all a line sets, if it is a plain one, and the text of its value; else 0."""
    match = _SETS.fullmatch(words[0].text) if len(words) == 1 else None
    return (int(match.group(1)), match.group(2)) if match else (0, "")


def said_of(word: Word) -> tuple[Said, int]:
    """A word with its figure, and what is in it."""
    letter, text = word.letter, word.number
    if letter == "#":
        return Said(letter, None, word), ASSIGNS
    if not (len(letter) == 1 and letter.isalpha()) and letter not in (",C", ",R", ",A"):
        return Said(letter, None, word), FLOW
    flags = FLOW if letter in ("O", "N") else 0
    if not PLAIN.fullmatch(text):
        return Said(letter, None, word), flags | FORMULA
    value = float(text)
    if value in (float("inf"), float("-inf")):
        return Said(letter, None, word), flags | FORMULA
    if letter in ("G", "M") and letter + code_of(text) in DRIVEN:
        flags |= DRIVES
    if letter in LENGTHS and "." not in text and value:
        flags |= BARE
    return Said(letter, value, word), flags


def _own_words(words: tuple[Word, ...], *, numbered: bool) -> tuple[str | None, tuple[Word, ...]]:
    """The block skip a line opens with, and its words without it, its N and comments."""
    rest = [word for word in words if word.letter not in ("(", ";")]
    skip = None
    at = 0
    while at < len(rest) and (rest[at].letter == "/" or (numbered and rest[at].letter == "N")):
        if rest[at].letter == "/":
            skip = skip or rest[at].text
        else:
            numbered = False
        at += 1
    return skip, tuple(rest[at:])


def _remarks(text: str) -> list[str]:
    if "(" not in text and ";" not in text:
        return []
    return [
        text[piece.start + 1 : piece.end - (piece.kind == "(")].strip(" \t")
        for piece in comments.pieces(text)
        if piece.kind != "code"
    ]


def _acts(comment: str) -> bool:
    """Whether a comment may end the run, send it elsewhere or move the zero it is read from."""
    bare = comment[1:].strip(" \t").upper()
    return comments.is_statement(comment) or comments.turns_or_jumps(comment) or bare.startswith("ABORT")


def _program_number(words: tuple[Word, ...], text: str) -> int | None:
    percent = _PERCENT_NUMBER.match(text)
    digits = percent.group(1) if percent else words[0].number
    return int(digits) if digits.isdigit() and len(digits) <= _MOST_DIGITS else None
