"""The grammar of a block without its comments: which text is words, and how they are spelled.

A block is a row of items, blanks between them meaning nothing:

* block skip: ``/`` or ``/`` and one digit right after it;
* word: a letter, blanks, and a value right after its sign: number, variable, ``[ ]`` expression, function, quoted text;
* ``,C ,R ,A`` with a value; ``:`` with a number as first word; text in quotes or ``< >``;
* assignment: variable ``=`` expression;
* keyword statement: IF and WHILE with a condition, GOTO, DO, END with a number, THEN, ELSE, ENDIF;
* O word, and after it at most one of SUB CALL IF WHILE … with ``[ ]`` arguments;
* output statement (DPRNT and its like): the rest of the line, to the letter.

What a blank would split (``X1 .5``, ``X- 5``, ``GO TO``, ``* *``) is not an item, and neither is anything else: one
piece that fits nothing makes the whole line `NotWords`. So a line read with blanks and the same line without them
give the same items.
"""

from tracker.nc import number
from tracker.nc.item import Item, Word
from tracker.patterns import lazy_pattern

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    import re

OUTPUT = ("DPRNT", "BPRNT", "SETVN", "POPEN", "PCLOS", "FOPEN", "FCLOS")
"""Output statements: from one of these on the line is kept to the letter."""

O_KEYWORDS = [
    "SUB",
    "ENDSUB",
    "RETURN",
    "CALL",
    "DO",
    "WHILE",
    "ENDWHILE",
    "IF",
    "ELSEIF",
    "ELSE",
    "ENDIF",
    "BREAK",
    "CONTINUE",
    "REPEAT",
    "ENDREPEAT",
]
FUNCTIONS = [
    "SIN",
    "COS",
    "TAN",
    "ASIN",
    "ACOS",
    "ATAN",
    "SQRT",
    "SQR",
    "ABS",
    "BIN",
    "BCD",
    "ROUND",
    "RND",
    "FIX",
    "FUP",
    "LN",
    "EXP",
    "POW",
    "ADP",
    "PRM",
    "EXISTS",
]
LINE_NUMBER_VARIABLES = frozenset({"4114", "4314", "4514"})
LINE_NAME = "<_line>"
"""Named parameter that holds the physical number of the line in the file (LinuxCNC, predefined named parameters)."""
OPERATOR_VARIABLES = frozenset({"3000", "3006"})
DEEPEST = 40
"""Brackets in brackets; deeper than this no control goes."""

_BLANK = lazy_pattern(r"[ \t]*")
_NUMBER = lazy_pattern(r"[0-9]+\.?[0-9]*|\.[0-9]+")
_PLAIN_WORD = lazy_pattern(r"([A-MP-Z])[ \t]*([+-]?)([0-9]+\.?[0-9]*|\.[0-9]+)[ \t]*")
_QUOTED = lazy_pattern(r"\"[^\"]*\"|'[^']*'|<[^<>]*>")
_NAME = lazy_pattern(r"<[^<>]*>")
_STATEMENT = lazy_pattern("|".join(("IF", "THEN", "ELSE", "ENDIF", "GOTO", "WHILE", "DO", "END", *OUTPUT)))
_O_KEYWORD = lazy_pattern("|".join(sorted(O_KEYWORDS, key=len, reverse=True)))
_FUNCTION = lazy_pattern("(" + "|".join(sorted(FUNCTIONS, key=len, reverse=True)) + r")(?=[ \t]*\[)")
_OPERATOR = lazy_pattern(r"\*\*|[-+*/]|MOD|AND|XOR|OR|EQ|NE|GT|GE|LT|LE")
_SAYS_NOTHING = lazy_pattern(r"\([^()]*\)|[^!-~]")
_MARK = lazy_pattern(r"=[0-9]*")


def bare_name(text: str) -> str:
    """What is left of a text if blanks, control characters, comments, case and all but plain characters say nothing."""
    return _SAYS_NOTHING.sub("", text).lower()


class NotWords(Exception):  # noqa: N818 - says what was found, not what went wrong
    """A piece of the line is no item."""


class BlockReader:
    """Reads the items of one stretch of code between comments.

    Attributes:
        items: what was read.
        output_at: offset of an output statement, after which nothing was read; or -1.
        odd_variable: a variable that reads the line number, or one with a computed index, was read.
        sees_lines: a named one that reads the physical line number was met.
        speaks: the alarm or message variable, a named or a computed one is assigned.
    """

    def __init__(self, line: str, start: int, end: int, *, renamed: bool = False) -> None:
        self.raw = line
        self.upper = line.encode("latin-1").upper().decode("latin-1")
        self.at = start
        self.end = end
        self.renamed = renamed
        self.items: list[Item] = []
        self.output_at = -1
        self.odd_variable = False
        self.sees_lines = False
        self.speaks = False
        self.o_line = False

    def read(self, before: list[Item]) -> None:
        """Read to the end; ``before`` holds the items that stand before this stretch and is added to.

        Raises:
            NotWords: some piece is no item.
        """
        self.items = before
        self._blanks()
        while self.at < self.end and self.output_at < 0:
            plain = _PLAIN_WORD.match(self.upper, self.at, self.end)
            if plain is None:
                self._item()
                self._blanks()
                continue
            letter, sign, digits = plain.groups()
            spelled = number.of_letter(letter, sign, digits)
            whole = (digits.lstrip("0") or "0") if sign != "-" and digits.isdigit() else None
            self.items.append(Item(Word(letter, spelled, letter + spelled), self.at, plain.end(3), whole))
            self.at = plain.end()

    def _blanks(self) -> None:
        match = _BLANK.match(self.upper, self.at, self.end)
        self.at = match.end() if match else self.at

    def _char(self) -> str:
        return self.upper[self.at] if self.at < self.end else ""

    def _match(self, pattern: "re.Pattern[str]") -> str:
        match = pattern.match(self.upper, self.at, self.end)
        if match is None:
            return ""
        self.at = match.end()
        return match.group()

    def _add(self, letter: str, text: str, start: int, value: str | None = None) -> None:
        spelled = text if letter in ("#", "[", '"') else letter + text
        shown = text.split("=", 1)[1] if letter == "#" else "" if letter == '"' else text
        self.items.append(Item(Word(letter, shown, spelled), start, self.at, value))

    def _item(self) -> None:
        start, char = self.at, self._char()
        if char == "/":
            self.at += 1
            self._add("/", self._digit(), start)
        elif "A" <= char <= "Z":
            self._letter(start, char)
        elif char == "#":
            self._assignment(start)
        elif char == ",":
            self._comma(start)
        elif char in ('"', "'", "<"):
            self._add('"', self._quoted(), start)
        elif char == "[" and self.o_line:
            self._add("[", self._operand(0), start)
        elif char == ":" and all(item.word.letter in ("/", "N") for item in self.items):
            self.at += 1
            self._blanks()
            self._add(":", number.bare(self._digits()), start)
        else:
            raise NotWords

    def _digit(self) -> str:
        digit = self._char()
        if not ("0" <= digit <= "9"):
            return ""
        self.at += 1
        return digit

    def _digits(self) -> str:
        digits = self._match(_NUMBER)
        if not digits:
            raise NotWords
        return digits

    def _quoted(self) -> str:
        match = _QUOTED.match(self.raw, self.at, self.end)
        if match is None:
            raise NotWords
        self.at = match.end()
        return match.group()

    def _letter(self, start: int, letter: str) -> None:
        if self.items and self.items[-1].word.letter == "O" and self._o_keyword(start):
            return
        statement = self._match(_STATEMENT)
        if statement in OUTPUT:
            self.at, self.output_at = start, start
        elif statement:
            self._statement(statement, start)
        else:
            self.at += 1
            self._blanks()
            text, value = self._value(letter)
            self._add(letter, text, start, value)

    def _o_keyword(self, start: int) -> bool:
        keyword = self._match(_O_KEYWORD)
        if keyword:
            self.o_line = True
            self._add(keyword, "", start)
        return bool(keyword)

    def _statement(self, name: str, start: int) -> None:
        self._blanks()
        value = None
        if name in ("IF", "WHILE"):
            text = self._expression(0)
        elif name == "GOTO":
            text, value = self._value("GOTO")
        elif name in ("DO", "END"):
            text = number.bare(self._digits())
        else:
            text = ""
        self._add(name, text, start, value)

    def _comma(self, start: int) -> None:
        self.at += 1
        self._blanks()
        letter = "," + self._char()
        if letter not in (",C", ",R", ",A"):
            raise NotWords
        self.at += 1
        self._blanks()
        text, value = self._value(letter)
        self._add(letter, text, start, value)

    def _value(self, letter: str) -> tuple[str, str | None]:
        """What follows a letter: the spelling, and the whole number it is if it is one."""
        if self.renamed and self._char() == "=" and letter in ("N", "P", "Q", "GOTO"):
            return self._match(_MARK), None
        sign = self._char() if self._char() in ("+", "-") else ""
        self.at += len(sign)
        digits = self._match(_NUMBER)
        if digits:
            whole = digits.lstrip("0") or "0"
            plain = digits.isdigit() and sign != "-"
            spelled = (
                sign + (digits if letter == "N" else number.bare(digits))
                if letter in ("GOTO", "N")
                else number.of_letter(letter, sign, digits)
            )
            return spelled, whole if plain else None
        if not sign and self._char() in ('"', "'", "<"):
            return self._quoted(), None
        return sign + self._operand(0), None

    def _assignment(self, start: int) -> None:
        target = self._variable(0, target=True)
        self._blanks()
        if self._char() != "=":
            raise NotWords
        self.at += 1
        self._blanks()
        if target[1:].split(".")[0] in OPERATOR_VARIABLES or not target[1:2].isdigit():
            self.speaks = True
        self._add("#", target + "=" + self._expression(0), start)

    def _variable(self, depth: int, *, target: bool = False) -> str:
        """``#1``, ``##1``, ``#[…]``, ``#<name>``; the reader stands on the ``#``.

        A computed index may be that of a line number variable. Not so in a ``target``, which is written and not read.
        """
        self.at += 1
        self._blanks()
        if self._char() == "<":
            match = _NAME.match(self.raw, self.at, self.end)
            if match is None:
                raise NotWords
            self.at = match.end()
            name = bare_name(match.group())
            self.odd_variable |= "line" in name
            self.sees_lines |= name == LINE_NAME
            return "#" + match.group()
        if self._char() in ("#", "["):
            self.odd_variable |= not target
            return "#" + self._operand(depth)
        index = number.bare(self._digits())
        self.odd_variable |= index.split(".")[0] in LINE_NUMBER_VARIABLES
        return "#" + index

    def _expression(self, depth: int) -> str:
        """Operands and operators in turn, as far as they go."""
        parts: list[str] = []
        while True:
            while self._char() in ("+", "-"):
                parts.append(self._char())
                self.at += 1
                if depth:
                    self._blanks()
            parts.append(self._operand(depth))
            self._blanks()
            operator = self._match(_OPERATOR)
            if not operator and depth and self._char() == ",":
                self.at, operator = self.at + 1, ","
            if not operator:
                return "".join(parts)
            parts.append(operator)
            self._blanks()

    def _operand(self, depth: int) -> str:
        if depth > DEEPEST:
            raise NotWords
        digits = self._match(_NUMBER)
        if digits:
            return number.in_brackets(digits) if depth else number.bare(digits)
        if self._char() == "#":
            return self._variable(depth + 1)
        if self._char() == "[":
            return self._bracketed(depth)
        function = self._match(_FUNCTION)
        if not function:
            raise NotWords
        self._blanks()
        text = function + self._bracketed(depth)
        mark = self.at
        self._blanks()
        if function == "ATAN" and self._char() == "/":
            self.at += 1
            self._blanks()
            if self._char() == "[":
                return text + "/" + self._bracketed(depth)
        self.at = mark
        return text

    def _bracketed(self, depth: int) -> str:
        self.at += 1
        self._blanks()
        inner = self._expression(depth + 1)
        if self._char() != "]":
            raise NotWords
        self.at += 1
        return f"[{inner}]"
