"""The operators and functions of expressions, as far as all controls agree on them.

Sources: NISTIR 6556 sections 3.3.2.3 and 3.3.2.4 for RS274/NGC; LinuxCNC documentation, "Expressions", for the
relational operators; macro-type controls from memory. Where two of them give different figures and the text does not
say which it is for, `NotKnown` is raised, with what differs.
"""

import math
from collections.abc import Callable, Sequence

from tracker.machining.family import MACRO, NGC
from tracker.machining.variables import NotKnown

Value = float | None
"""None: null, a variable that was never set."""

Operator = Callable[[Value, Value, str | None], float]
Function = Callable[[Sequence[float], str | None], float]

ROUNDING = 1e-8
"""Figures nearer than this, and not equal, are told apart by how a control rounds."""

EQUAL = 1e-4
"""Figures this near are equal to some controls (from memory)."""


def add(a: Value, b: Value, _family: str | None) -> float:
    """Sum."""
    return (a or 0.0) + (b or 0.0)


def subtract(a: Value, b: Value, _family: str | None) -> float:
    """Difference."""
    return (a or 0.0) - (b or 0.0)


def multiply(a: Value, b: Value, _family: str | None) -> float:
    """Product."""
    return (a or 0.0) * (b or 0.0)


def divide(a: Value, b: Value, _family: str | None) -> float:
    """Quotient."""
    if not b:
        raise NotKnown("division by zero")
    return (a or 0.0) / b


def power(a: Value, b: Value, _family: str | None) -> float:
    """``**`` and POW."""
    try:
        result = math.pow(a or 0.0, b or 0.0)
    except (ValueError, OverflowError):
        raise NotKnown("a power that has no figure") from None
    return result


def modulo(a: Value, b: Value, family: str | None) -> float:
    """MOD of what no control takes otherwise: macro-type ones take whole numbers (from memory)."""
    a, b = a or 0.0, b or 0.0
    if a < 0 or b < 0:
        raise NotKnown("MOD of a negative value differs between controls")
    if b == 0:
        raise NotKnown("division by zero")
    rest = math.fmod(a, b)
    if not (a.is_integer() and b.is_integer()):
        if family != NGC:
            raise NotKnown("MOD of fractions differs between controls")
        if near(rest, 0.0) or near(rest, b):
            raise NotKnown("MOD is decided by rounding")
    return rest


def near(a: float, b: float) -> bool:
    """Whether two figures differ by no more than rounding."""
    gap = abs(a - b)
    return gap != 0.0 and gap <= ROUNDING * max(1.0, abs(a), abs(b))


def equal(a: Value, b: Value, family: str | None) -> float:
    """EQ: null is equal to null; whether it is equal to 0 depends on the control."""
    if a is None or b is None:
        if a is None and b is None:
            return 1.0
        if (a or 0.0) == 0.0 and (b or 0.0) == 0.0 and family is None:
            raise NotKnown("whether a variable that was never set equals 0 differs between controls")
        return float(family == NGC and (a or 0.0) == (b or 0.0))
    gap = abs(a - b)
    if gap != 0.0 and (near(a, b) or (gap < EQUAL and family != MACRO)):
        raise NotKnown(f"whether {a:.9g} equals {b:.9g} is decided by rounding")
    return float(gap == 0.0)


def unequal(a: Value, b: Value, family: str | None) -> float:
    """NE."""
    return 1.0 - equal(a, b, family)


def _ordered(test: Callable[[float, float], bool]) -> Operator:
    def compare(a: Value, b: Value, _family: str | None) -> float:
        a, b = a or 0.0, b or 0.0
        if near(a, b):
            raise NotKnown(f"which of {a:.9g} and {b:.9g} is greater is decided by rounding")
        return float(test(a, b))

    return compare


def _bits(a: Value, b: Value) -> tuple[int, int]:
    a, b = a or 0.0, b or 0.0
    if not (a.is_integer() and b.is_integer() and 0 <= a < 2**31 and 0 <= b < 2**31):
        raise NotKnown("AND, OR and XOR of such figures differ between controls")
    return int(a), int(b)


RELATIONS: dict[str, Operator] = {
    "EQ": equal,
    "NE": unequal,
    "GT": _ordered(lambda a, b: a > b),
    "GE": _ordered(lambda a, b: a >= b),
    "LT": _ordered(lambda a, b: a < b),
    "LE": _ordered(lambda a, b: a <= b),
}
SUMS: dict[str, Operator] = {"+": add, "-": subtract}
PRODUCTS: dict[str, Operator] = {"*": multiply, "/": divide, "MOD": modulo}
POWERS: dict[str, Operator] = {"**": power}
LOGIC: dict[str, Operator] = {
    "AND": lambda a, b, _: float(bool(a) and bool(b)),
    "OR": lambda a, b, _: float(bool(a) or bool(b)),
    "XOR": lambda a, b, _: float(bool(a) != bool(b)),
}
"""Of true and false, as in RS274/NGC."""


def _bit_and(a: Value, b: Value, _family: str | None) -> float:
    a, b = _bits(a, b)
    return float(a & b)


def _bit_or(a: Value, b: Value, _family: str | None) -> float:
    a, b = _bits(a, b)
    return float(a | b)


def _bit_xor(a: Value, b: Value, _family: str | None) -> float:
    a, b = _bits(a, b)
    return float(a ^ b)


BITS: dict[str, Operator] = {"AND": _bit_and, "OR": _bit_or, "XOR": _bit_xor}
"""Of whole numbers bit by bit, as on macro-type controls (from memory)."""


def _one(of: Callable[[float], float]) -> Function:
    def function(values: Sequence[float], _family: str | None) -> float:
        (value,) = values
        return of(value)

    return function


def _whole(of_positive: Callable[[float], int], name: str) -> Function:
    """FIX and FUP: down and up in RS274/NGC (NISTIR 6556 section 3.3.2.4), towards and away from zero otherwise."""

    def function(values: Sequence[float], family: str | None) -> float:
        (value,) = values
        if near(value, round(value)):
            raise NotKnown(f"{name} is decided by rounding")
        if value >= 0 or value.is_integer():
            return float(of_positive(value))
        if family is None:
            raise NotKnown(f"{name} of a negative value differs between controls")
        return float(of_positive(value) if family == NGC else -of_positive(-value))

    return function


def _nearest(value: float) -> float:
    half = abs(value) % 1.0
    if abs(half - 0.5) <= ROUNDING:
        raise NotKnown("ROUND of a half differs between controls")
    return float(round(value))


def _tangent(value: float) -> float:
    if abs(math.cos(math.radians(value))) < ROUNDING:
        raise NotKnown("TAN of a right angle")
    return math.tan(math.radians(value))


def _arc_tangent(values: Sequence[float], family: str | None) -> float:
    if len(values) == 1:
        return math.degrees(math.atan(values[0]))
    up, along = values
    angle = math.degrees(math.atan2(up, along))
    if angle < 0 and family != NGC:
        raise NotKnown("ATAN of a negative value differs between controls")
    return angle


def _arc_sine(values: Sequence[float], family: str | None) -> float:
    (value,) = values
    if value < 0 and family != NGC:
        raise NotKnown("ASIN of a negative value differs between controls")
    return math.degrees(math.asin(value))


def _power(values: Sequence[float], family: str | None) -> float:
    a, b = values
    return power(a, b, family)


FUNCTIONS: dict[str, Function] = {
    "SIN": _one(lambda value: math.sin(math.radians(value))),
    "COS": _one(lambda value: math.cos(math.radians(value))),
    "TAN": _one(_tangent),
    "ASIN": _arc_sine,
    "ACOS": _one(lambda value: math.degrees(math.acos(value))),
    "ATAN": _arc_tangent,
    "SQRT": _one(math.sqrt),
    "SQR": _one(math.sqrt),
    "ABS": _one(abs),
    "ROUND": _one(_nearest),
    "RND": _one(_nearest),
    "FIX": _whole(math.floor, "FIX"),
    "FUP": _whole(math.ceil, "FUP"),
    "LN": _one(math.log),
    "EXP": _one(math.exp),
    "POW": _power,
}
"""Angles in degrees. BIN, BCD, ADP and PRM are left out: what they give depends on the control."""
