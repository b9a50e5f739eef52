"""What works out one part of an expression: figures, variables, functions, operators in a row."""

from collections.abc import Callable, Mapping

from tracker.machining.family import NGC
from tracker.machining.reckon_functions import FUNCTIONS, Operator, Value
from tracker.machining.variables import HIGHEST, NotKnown, Variables, index_of

Figure = Callable[[Variables], Value]
"""What an expression gives with the variables as they are; raises `NotKnown`."""


def bound(
    level: Mapping[str, Operator], operands: list[Figure], operators: list[str]
) -> tuple[list[Figure], list[str]]:
    """Bind the operators of one level: fewer operands, and the operators that are left."""
    left, rest = [], []
    links: list[tuple[Operator, Figure]] = []
    first = operands[0]
    for operator, operand in zip(operators, operands[1:], strict=True):
        if operator in level:
            links.append((level[operator], operand))
            continue
        left.append(chain(first, links))
        rest.append(operator)
        first, links = operand, []
    left.append(chain(first, links))
    return left, rest


def chain(first: Figure, links: list[tuple[Operator, Figure]]) -> Figure:
    """Operators of one level from left to right, without going deeper for every one of them."""
    if not links:
        return first
    if len(links) == 1:
        ((only, second),) = links
        return lambda variables: only(first(variables), second(variables), variables.family)

    def run(variables: Variables) -> Value:
        value = first(variables)
        for operator, operand in links:
            value = operator(value, operand(variables), variables.family)
        return value

    return run


def unread(_variables: Variables) -> Value:
    """Text that is no expression."""
    raise NotKnown("does not read as a figure")


def constant(value: float) -> Figure:
    """A number."""
    return lambda _variables: value


def negative(operand: Figure) -> Figure:
    """A minus before an operand; of null it is null."""

    def run(variables: Variables) -> Value:
        value = operand(variables)
        return None if value is None else -value

    return run


def named(name: str) -> Figure:
    """A named variable."""
    return lambda variables: variables.read_name(name)


def existing(name: str) -> Figure:
    """EXISTS of a named variable."""
    return lambda variables: variables.exists(name)


def numbered(digits: str) -> Figure:
    """A variable by its number."""
    value = float(digits)

    def run(variables: Variables) -> Value:
        return variables.read(index_of(value))

    if not value.is_integer() or value > HIGHEST:
        return run
    number = int(value)
    return lambda variables: variables.read(number)


def indirect(operand: Figure) -> Figure:
    """A variable whose number is computed."""
    return lambda variables: variables.read(index_of(operand(variables)))


def called(name: str, arguments: list[Figure], *, word: bool) -> Figure:
    """A function; ``word``: it stands in a word, where ROUND is to the least increment on some controls."""
    function = FUNCTIONS.get(name)
    if function is None:
        return refused(f"{name} depends on the control")
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


def refused(why: str) -> Figure:
    """What cannot be told, whatever the variables are."""

    def run(_variables: Variables) -> Value:
        raise NotKnown(why)

    return run
