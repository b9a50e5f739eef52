"""What the words of a G65 or G66 block put into the locals of the macro.

Letters: "argument assignment I"; I J K more than once: the second of its kind, where the n-th set of I J K goes into
#(3n+1), #(3n+2), #(3n+3), up to ten sets. Both may be mixed, and what comes later wins. Common practice of macro-type
controls, as printed in courses on custom macros.
"""

from collections.abc import Sequence

from tracker.machining.lines import BARE, said_of
from tracker.machining.said import Said

_LETTERS = zip("ABCDEFHMQRSTUVWXYZ", (1, 2, 3, 7, 8, 9, 11, 13, *range(17, 27)), strict=True)
LETTERS: dict[str, int] = dict(_LETTERS)
SETS = 10
_WHOLE = frozenset("DHMST")
_LENGTHS = frozenset("IJKRUVWXYZ")
_INCREMENT = {"mm": 0.001, "inch": 0.0001}


def arguments_of(
    said: Sequence[Said], *, decimal: str | None, units: str | None
) -> tuple[dict[int, float | None], dict[int, str]]:
    """Figures by number of the variable; and those that cannot be told: number -> word, empty if it had no figure.

    Under the decimal rule ``increment`` a figure without a point counts as the letter has it in a motion block;
    for letters where that is not known (A, B, C, E, F, Q) it cannot be told.
    """
    values: dict[int, float | None] = {}
    unknown: dict[int, str] = {}
    turn, last = 1, -1
    met = {"I": 0, "J": 0, "K": 0}
    for item in said:
        places = []
        if item.letter in met:
            at = "IJK".index(item.letter)
            turn += at <= last
            last = at
            met[item.letter] += 1
            places = [3 * turn + 1 + at]
            if met[item.letter] != turn:
                places.append(3 * met[item.letter] + 1 + at)
        elif item.letter in LETTERS:
            places = [LETTERS[item.letter]]
        value = _value(item, decimal, units)
        for place in places:
            values.pop(place, None)
            unknown.pop(place, None)
            if value is None or len(places) > 1 or turn > SETS:
                unknown[place] = "" if item.value is None else item.word.text
            else:
                values[place] = value
    return values, {place: text for place, text in unknown.items() if place <= 3 * SETS + 3}


def _value(item: Said, decimal: str | None, units: str | None) -> float | None:
    if item.value is None or decimal != "increment" or "." in item.word.number or item.letter in _WHOLE:
        return item.value
    if item.letter not in _LENGTHS:
        return item.value if item.value == 0 else None
    if not said_of(item.word)[1] & BARE:
        return item.value
    factor = _INCREMENT.get(units or "")
    return None if factor is None else item.value * factor
