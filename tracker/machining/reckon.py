"""Figures from the text of expressions: ``[#1+2]``, ``#[#2]``, ``-SIN[30]``, ``#1LT5``.

The text is in the canonical spelling of `tracker.nc.block`. An expression is worked out in the order of NISTIR 6556
section 3.3.2.3 (powers; then ``* / MOD``; then ``+ -``; left to right), relations last. Where AND, OR and XOR stand
differs: with the sums (NISTIR 6556), after the relations (LinuxCNC documentation, "Expressions"), or AND with the
products and OR, XOR with the sums, of bits (macro-type controls, from memory). An expression with one of them is
worked out in every order that may be meant, and counts only where all give the same figure.
"""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from tracker.machining.family import MACRO, NGC
from tracker.machining.reckon_functions import (
    BITS,
    FUNCTIONS,
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

Figure = Callable[[Variables], Value]
"""What an expression gives with the variables as they are; raises `NotKnown`."""


@dataclass(frozen=True, slots=True)
class _Order:
    """Operators by how tightly they bind, tightest first; ``ngc``: ROUND in a word is to a whole number."""

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
_PLAIN = re.compile(r"([-+]?)([0-9]+\.?[0-9]*|\.[0-9]+)")
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
    plain = _PLAIN.fullmatch(text)
    if plain:
        return _finite(float(text))
    results = [of(variables) for of in figures(text, variables.family, word=word)]
    if any(result != results[0] for result in results):
        raise NotKnown("what AND, OR and XOR do differs between controls")
    return _finite(results[0])


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


def _finite(value: Value) -> Value:
    if value is not None and not math.isfinite(value):
        raise NotKnown("a figure beyond all bounds")
    return value


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
            return _unread
        return result if self._at == len(self._text) else _unread

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
            operands, operators = _bound(level, operands, operators)
        return operands[0]

    def _signed(self) -> Figure:
        minus = False
        while self._char() in ("+", "-") and self._char():
            minus ^= self._char() == "-"
            self._at += 1
        operand = self._operand()
        return _negative(operand) if minus else operand

    def _operand(self) -> Figure:
        digits = self._match(_NUMBER)
        if digits:
            return _constant(float(digits))
        if self._char() == "#":
            self._at += 1
            return self._variable()
        if self._char() == "[":
            arguments = self._arguments()
            return arguments[0] if len(arguments) == 1 else _unread
        return self._function(self._match(_FUNCTION))

    def _variable(self) -> Figure:
        name = _NAME.match(self._text, self._at)
        if name:
            self._at = name.end()
            return _named(name.group(1))
        digits = self._match(_NUMBER)
        return _numbered(digits) if digits else _indirect(self._operand())

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
            return _existing(given.group(1)) if given else _unread
        return _called(name, arguments, word=self._word)


def _bound(
    level: Mapping[str, Operator], operands: list[Figure], operators: list[str]
) -> tuple[list[Figure], list[str]]:
    """Bind the operators of one level: fewer operands, and the operators that are left."""
    left, rest = [], []
    chain: list[tuple[Operator, Figure]] = []
    first = operands[0]
    for operator, operand in zip(operators, operands[1:], strict=True):
        if operator in level:
            chain.append((level[operator], operand))
            continue
        left.append(_chain(first, chain))
        rest.append(operator)
        first, chain = operand, []
    left.append(_chain(first, chain))
    return left, rest


def _chain(first: Figure, chain: list[tuple[Operator, Figure]]) -> Figure:
    """Operators of one level from left to right, without going deeper for every one of them."""
    if not chain:
        return first
    if len(chain) == 1:
        ((operator, second),) = chain
        return lambda variables: operator(first(variables), second(variables), variables.family)

    def run(variables: Variables) -> Value:
        value = first(variables)
        for operator, operand in chain:
            value = operator(value, operand(variables), variables.family)
        return value

    return run


def _unread(_variables: Variables) -> Value:
    raise NotKnown("does not read as a figure")


def _constant(value: float) -> Figure:
    return lambda _variables: value


def _negative(operand: Figure) -> Figure:
    def run(variables: Variables) -> Value:
        value = operand(variables)
        return None if value is None else -value

    return run


def _named(name: str) -> Figure:
    return lambda variables: variables.read_name(name)


def _existing(name: str) -> Figure:
    return lambda variables: variables.exists(name)


def _numbered(digits: str) -> Figure:
    value = float(digits)

    def run(variables: Variables) -> Value:
        return variables.read(index_of(value))

    if not value.is_integer() or value > 99_999:
        return run
    number = int(value)
    return lambda variables: variables.read(number)


def _indirect(operand: Figure) -> Figure:
    return lambda variables: variables.read(index_of(operand(variables)))


def _called(name: str, arguments: list[Figure], *, word: bool) -> Figure:
    function = FUNCTIONS.get(name)
    if function is None:
        return _refused(f"{name} depends on the control")
    rounds = word and name in ("ROUND", "RND")

    def run(variables: Variables) -> Value:
        values = [of(variables) or 0.0 for of in arguments]
        if rounds and variables.family != NGC and not values[0].is_integer():
            raise NotKnown(f"{name} in a word differs between controls")
        try:
            return function(values, variables.family)
        except (ValueError, OverflowError):
            raise NotKnown(f"{name} has no figure here") from None

    return run


def _refused(why: str) -> Figure:
    def run(_variables: Variables) -> Value:
        raise NotKnown(why)

    return run
