"""Figures from the text of expressions: ``[#1+2]``, ``#[#2]``, ``-SIN[30]``, ``#1LT5``.

The text is in the canonical spelling of `tracker.nc.block`. An expression is worked out in the order of NISTIR 6556
section 3.3.2.3 (powers; then ``* / MOD``; then ``+ -``; left to right), relations last. Where AND, OR and XOR stand
differs: with the sums (NISTIR 6556), after the relations (LinuxCNC documentation, "Expressions"), or AND with the
products and OR, XOR with the sums, of bits (macro-type controls, from memory). An expression with one of them is
worked out in every order that may be meant, and counts only where all give the same figure.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from tracker.machining.family import MACRO, NGC
from tracker.machining.reckon_figures import (
    Figure,
    bound,
    called,
    constant,
    existing,
    indirect,
    named,
    negative,
    numbered,
    unread,
)
from tracker.machining.reckon_functions import (
    BITS,
    LOGIC,
    POWERS,
    PRODUCTS,
    RELATIONS,
    SUMS,
    Operator,
    Value,
)
from tracker.machining.variables import NotKnown, Variables, index_of
from tracker.nc import block


@dataclass(frozen=True, slots=True)
class _Order:
    """Operators by how tightly they bind, tightest first."""

    levels: tuple[Mapping[str, Operator], ...]


_NIST = _Order((POWERS, PRODUCTS, SUMS | LOGIC, RELATIONS))
_OPEN = _Order((POWERS, PRODUCTS, SUMS, RELATIONS, LOGIC))
_MACRO = _Order(
    (POWERS, PRODUCTS | {"AND": BITS["AND"]}, SUMS | {"OR": BITS["OR"], "XOR": BITS["XOR"]}, RELATIONS)
)
_ORDERS = {NGC: (_NIST, _OPEN), MACRO: (_MACRO,), None: (_NIST, _OPEN, _MACRO)}
_HAS_LOGIC = re.compile("AND|OR")
_NUMBER = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+")
_OPERATOR = re.compile(r"\*\*|[-+*/]|MOD|AND|XOR|OR|EQ|NE|GT|GE|LT|LE")
_FUNCTION = re.compile("(" + "|".join(sorted(block.FUNCTIONS, key=len, reverse=True)) + r")(?=\[)")
_NAME = re.compile(r"<([^<>]*)>")
_LONGEST_KEPT = 500


def figure(text: str, variables: Variables, *, word: bool = False) -> Value:
    """The figure an expression stands for; None if it is null.

    Args:
        text: canonical text of a number, a variable, a function, an expression with or without brackets.
        variables: as they are.
        word: it is the value of a word (there ROUND may mean something else).

    Raises:
        NotKnown: it cannot be told, or differs between controls.
    """
    orders = figures(text, variables.family, word=word)
    result = orders[0](variables)
    if len(orders) > 1 and any(of(variables) != result for of in orders[1:]):
        raise NotKnown("what AND, OR and XOR do differs between controls")
    if result is not None and not math.isfinite(result):
        raise NotKnown("a figure beyond all bounds")
    return result


def truth(text: str, variables: Variables) -> bool:
    """Whether a condition holds.

    Raises:
        NotKnown: it cannot be told.
    """
    return bool(figure(text, variables))


def target(text: str, variables: Variables) -> int | str:
    """Which variable a text names: its number, or its name in ``< >``, here given without them.

    Raises:
        NotKnown: the number is computed and cannot be told.
    """
    name = _NAME.fullmatch(text, 1)
    if name:
        return name.group(1)
    return index_of(figure(text[1:], variables))


def split_assignment(text: str) -> tuple[str, str]:
    """The two sides of an assignment: ``("#1", "#2+1")``; a name in ``< >`` may hold an equals sign."""
    name = _NAME.match(text, 1)
    at = text.index("=", name.end() if name else 0)
    return text[:at], text[at + 1 :]


def figures(text: str, family: str | None, *, word: bool = False) -> tuple[Figure, ...]:
    """What works an expression out: one for every order it may be meant in."""
    return _kept(text, family, word) if len(text) <= _LONGEST_KEPT else _read(text, family, word)


@lru_cache(maxsize=4096)
def _kept(text: str, family: str | None, word: bool) -> tuple[Figure, ...]:
    return _read(text, family, word)


def _read(text: str, family: str | None, word: bool) -> tuple[Figure, ...]:
    orders = _ORDERS[family] if _HAS_LOGIC.search(text) else (_OPEN,)
    return tuple(_Reader(text, order, word=word).whole() for order in orders)


class _Reader:
    """Reads one text into what works it out."""

    def __init__(self, text: str, order: _Order, *, word: bool) -> None:
        self._text = text
        self._order = order
        self._word = word
        self._at = 0

    def whole(self) -> Figure:
        try:
            result = self._expression()
        except IndexError:
            return unread
        return result if self._at == len(self._text) else unread

    def _match(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self._text, self._at)
        if match is None:
            return ""
        self._at = match.end()
        return match.group()

    def _char(self) -> str:
        return self._text[self._at : self._at + 1]

    def _expression(self) -> Figure:
        operands = [self._signed()]
        operators = []
        while operator := self._match(_OPERATOR):
            operators.append(operator)
            operands.append(self._signed())
        for level in self._order.levels:
            if len(operands) == 1:
                break
            operands, operators = bound(level, operands, operators)
        return operands[0]

    def _signed(self) -> Figure:
        minus = False
        while self._char() in ("+", "-") and self._char():
            minus ^= self._char() == "-"
            self._at += 1
        operand = self._operand()
        return negative(operand) if minus else operand

    def _operand(self) -> Figure:
        digits = self._match(_NUMBER)
        if digits:
            return constant(float(digits))
        if self._char() == "#":
            self._at += 1
            return self._variable()
        if self._char() == "[":
            arguments = self._arguments()
            return arguments[0] if len(arguments) == 1 else unread
        return self._function(self._match(_FUNCTION))

    def _variable(self) -> Figure:
        name = _NAME.match(self._text, self._at)
        if name:
            self._at = name.end()
            return named(name.group(1))
        digits = self._match(_NUMBER)
        return numbered(digits) if digits else indirect(self._operand())

    def _arguments(self) -> list[Figure]:
        """The figures in brackets, parted by commas."""
        found = []
        self._at += 1
        while True:
            found.append(self._expression())
            mark = self._char()
            if mark not in (",", "]") or not mark:
                raise IndexError
            self._at += 1
            if mark == "]":
                return found

    def _function(self, name: str) -> Figure:
        if not name:
            raise IndexError
        start = self._at
        arguments = self._arguments()
        if name == "ATAN" and self._text.startswith("/[", self._at):
            self._at += 1
            arguments += self._arguments()
        if name == "EXISTS":
            given = _NAME.fullmatch(self._text, start + 2, self._at - 1)
            return existing(given.group(1)) if given else unread
        return called(name, arguments, word=self._word)
