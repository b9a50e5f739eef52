"""The words of a block with their figures, worked out with the variables as they are when it is run.

The decimal rule of the setting is applied here: under ``increment`` a length without a point is in least increments,
0.001 mm or 0.0001 in, an angle in 0.001 degrees and a dwell in 0.001 s (common practice, no source).

A block that sets a variable and reads it too is worked out both ways where the family is not known: RS274/NGC reads
all values before it sets any (NISTIR 6556 section 3.3.3), macro-type controls go from left to right (from memory).
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

from tracker.machining.family import MACRO, NGC
from tracker.machining.lines import BARE, PLAIN, said_of
from tracker.machining.reckon import figure, split_assignment, target
from tracker.machining.reckon_functions import Value
from tracker.machining.said import Said
from tracker.machining.variables import NotKnown, Variables
from tracker.nc.codes import code_of
from tracker.nc.item import Word

INCREMENT = 0.001
INCH_INCREMENT = 0.0001
_ANGLES = frozenset({"A", "B", "C", ",A"})
_CODES = frozenset("GMTHDSFNOPLKQE")
_TURNING = frozenset({"70", "71", "72", "73", "74", "75", "76"})
_CYCLES = frozenset({"73", "74", "76", *(str(code) for code in range(81, 90))})
_NULL_DIFFERS = "what a word does whose variable was never set differs between controls"
_SELF_READ = "is set and read in one block, which controls do in different order"


@dataclass(slots=True)
class Found:
    """What a block says once it is worked out.

    Attributes:
        said: its words, keywords and assignments left out.
        set: (variable as written, its number or name or None if it cannot be told, value) of what was assigned.
        unknown: (word as written, why its figure cannot be told).
    """

    said: list[Said] = field(default_factory=list)
    set: list[tuple[str, int | str | None, Value]] = field(default_factory=list)
    unknown: list[tuple[str, str]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Result:
    """What one word gives: a figure (None: null), or why there is none; for an assignment what is set."""

    value: Value = None
    why: str = ""
    place: int | str | None = None


def resolve(words: Iterable[Word], variables: Variables) -> Found:
    """Work out the words of a block from left to right and set the variables it assigns."""
    words = tuple(words)
    results = _results(words, variables)
    found = Found()
    for word, result in zip(words, results, strict=True):
        if word.letter == "#":
            found.set.append((word.text, result.place, result.value))
            if result.place is None:
                found.unknown.append((word.text, result.why))
        elif (len(word.letter) == 1 and word.letter.isalpha()) or word.letter[:1] == ",":
            _take(word, result, variables, found)
    return found


def _take(word: Word, result: _Result, variables: Variables, found: Found) -> None:
    value, why = result.value, result.why
    if value is None and not why:
        if variables.family == MACRO:
            return
        value, why = (0.0, "") if variables.family == NGC else (None, _NULL_DIFFERS)
    if why or value is None:
        found.unknown.append((word.text, why))
    elif word.letter in _CODES and not PLAIN.fullmatch(word.number):
        word = spelled(word.letter, value)
    found.said.append(Said(word.letter, value, word))


def spelled(letter: str, value: float) -> Word:
    """A word with a figure that was worked out."""
    text = str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return Word(letter, text, letter + text)


def _results(words: tuple[Word, ...], variables: Variables) -> list[_Result]:
    assigned = [index for index, word in enumerate(words) if word.letter == "#"]
    alone = not assigned or (len(assigned) == 1 and assigned[0] == len(words) - 1)
    if alone or variables.family == MACRO:
        return [_work_out(word, variables, write=True) for word in words]
    before = [_work_out(word, variables, write=False) for word in words]
    ngc = variables.family == NGC
    after = before if ngc else [_work_out(word, variables, write=True) for word in words]
    results = []
    for word, one, other in zip(words, before, after, strict=True):
        result = one
        if one != other:
            result = _Result(
                None, f"a variable {_SELF_READ}", one.place if one.place == other.place else None
            )
        results.append(result)
        if word.letter == "#":
            _write(result, variables)
    return results


def _work_out(word: Word, variables: Variables, *, write: bool) -> _Result:
    if word.letter != "#":
        return _figure(word.number, variables, word=True)
    left, right = split_assignment(word.text)
    result = _figure(right, variables, word=False)
    try:
        place = target(left, variables)
    except NotKnown as unknown:
        result = _Result(None, str(unknown), None)
    else:
        result = _Result(result.value, result.why, place)
    if write:
        _write(result, variables)
    return result


def _figure(text: str, variables: Variables, *, word: bool) -> _Result:
    try:
        return _Result(figure(text, variables, word=word))
    except NotKnown as unknown:
        return _Result(None, str(unknown))


def _write(result: _Result, variables: Variables) -> None:
    known = not result.why
    if isinstance(result.place, str):
        variables.write_name(result.place, result.value, known=known)
    elif result.place:
        variables.write(result.place, result.value, known=known)
    elif result.place is None:
        variables.lose(locals_too=True)


def units_in(said: Iterable[Said]) -> str | None:
    """The units a block itself switches to."""
    for item in said:
        if item.letter == "G" and item.word.number in ("20", "21"):
            return "inch" if item.word.number == "20" else "mm"
    return None


def in_increments(
    said: tuple[Said, ...], units: str | None, motion: str | None, *, lathe: bool = False
) -> tuple[Said, ...]:
    """The same words, lengths without a point taken in least increments; None where the units are not known."""
    units = units_in(said) or units
    dwells = any(item.letter == "G" and code_of(item.word.number) == "4" for item in said)
    lengths = bare_lengths(said, motion, lathe=lathe)
    return tuple(_scaled(item, units, dwells=dwells) if item.letter in lengths else item for item in said)


def bare_lengths(said: tuple[Said, ...], motion: str | None, *, lathe: bool = False) -> set[str]:
    """Letters of a block whose figure is a length without a point: no count, no block number.

    On a lathe Q of G70 to G73 is a block number, R of the first block of G73 a count of passes; Q of G74 to G76 counts
    least increments whatever the rule.
    """
    codes = {code_of(item.word.number) for item in said if item.letter == "G"}
    counts = {"R"} if "10" in codes else set()
    if lathe:
        if codes & _TURNING:
            counts |= {"Q"}
        if "73" in codes:
            counts |= {"R"}
    elif codes & _CYCLES or (motion in _CYCLES and not codes & {"0", "1", "2", "3"}):
        counts |= {"K"}
    return {item.letter for item in said if said_of(item.word)[1] & BARE} - counts


def _scaled(item: Said, units: str | None, *, dwells: bool) -> Said:
    if item.value is None:
        return item
    if item.letter in _ANGLES or (dwells and item.letter in ("X", "U")):
        return item._replace(value=item.value * INCREMENT)
    if units is None:
        return item._replace(value=None)
    return item._replace(value=item.value * (INCH_INCREMENT if units == "inch" else INCREMENT))
