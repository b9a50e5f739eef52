"""G codes whose motion is not followed: they are named, and what they move is left out.

Some change how all words after them are read, until they are cancelled: what stands between is left out whole.
From NISTIR 6556 (2000), the LinuxCNC documentation, G codes, and common practice on macro-type controls, from memory.
"""

import re

from tracker.machining.acting import Acting
from tracker.machining.block_words import UNTOLD, Words

CANCELS = {
    "15": ("16",),
    "50": ("51",),
    "50.1": ("51.1",),
    "50.2": ("51.2",),
    "69": ("68", "68.1", "68.2", "68.3", "68.4"),
    "13.1": ("12.1",),
    "113": ("112",),
    "100": ("101",),
}
"""Code -> the codes it cancels."""

READ_OTHERWISE = frozenset(code for codes in CANCELS.values() for code in codes) | {
    "7.1",
    "107",
    "54.2",
    "54.4",
}
LATHE_CALLS = frozenset({"50", "68", "69", "100", "101"})
"""They mean something else on a lathe."""

DONE = frozenset(
    {
        *("0", "1", "2", "3", "4", "10", "11", "17", "18", "19", "20", "21", "28", "30", "33"),
        *("40", "41", "42", "43", "44", "49", "49.1", "52", "53", "54", "54.1", "55", "56", "57", "58", "59"),
        *("59.1", "59.2", "59.3", "61", "61.1", "62", "63", "64", "73", "74", "76", "80", "81", "82", "83"),
        *("84", "85", "86", "87", "88", "89", "90", "90.1", "91", "91.1", "92", "92.1", "92.2", "92.3"),
        *("93", "94", "95", "96", "97", "98", "99", "154", *map(str, range(110, 130))),
    }
)
"""Codes that are followed, or named where they are done."""

QUIET = frozenset(
    {"8", "9", "22", "23", "25", "26", "65", "66", "66.1", "67", "103", "187", "28.1", "30.1", "47.1", "14.1"}
)
"""Codes that move nothing, and calls, which are not done here."""

STROKE = "22"
"""The stored stroke check: its axis words are the limits, not a place to go to (macro-type controls, from memory)."""
NAMED_LENGTHS = frozenset({"43.1", "43.2", "43.3", "43.4", "43.5"})
STATES_LENGTHS = frozenset({"43.1", "43.2"})
"""Without an H their axis words are the offset itself, not a place to go to (LinuxCNC documentation, G43.1, G43.2)."""
BY_SETTING = frozenset({"5", "5.1", "8"})
"""Without axis words they only choose how smoothly the path is run; with them they are curves, see below."""

ENDS_WHERE_TOLD = frozenset({"5", "5.1", "5.2", "5.3", "33.1"})
"""Motions of which at least the end is where the words say."""


def name_codes(act: Acting, words: Words) -> bool:
    """Name what is not followed in a block; whether such a code has used up the axis words."""
    taken = False
    for code in words.g:
        if act.control.lathe and code in LATHE_CALLS:
            continue
        if code in CANCELS:
            taken |= _cancel(act, words, code)
        elif code in READ_OTHERWISE:
            _doubt(act, words, code)
            taken = True
        elif code == STROKE:
            taken |= words.has_axes()
        elif code in STATES_LENGTHS and "H" not in words and words.has_axes():
            act.lose([place for place, _ in words.axes()])
            taken = True
        elif code not in DONE and code not in QUIET and code not in NAMED_LENGTHS and code != UNTOLD:
            taken |= _other(act, code)
    return taken


CALLED_SO = "some controls call a program so"
_OF_A_CALL = frozenset("LPR")

MORE = {"corner": "corners are not cut or rounded off", "axis": "a further axis"}
CORNERS = (",R", ",C", ",A")
TURNS = "L"
FURTHER = ("U", "V", "W")
MORE_WORDS = frozenset({*CORNERS, *FURTHER, "R", TURNS})
"""Letters `name_words` has to look at."""

_ITS_NAME = re.compile(r"[Ll][ \t]*([0-9]+)(?![0-9.])")


def may_call(act: Acting, words: Words) -> bool:
    """Whether a block is nothing but an L, maybe with P or R: some controls call a program so (from memory). It is named."""
    letters = {item.letter for item in words.said}
    if not letters <= _OF_A_CALL:
        return False
    item, spelled = words.word("L"), _ITS_NAME.search(act.block.text)  # as written: L0100 is not L100 there
    act.name(f"L{spelled[1]}" if spelled else item.word.text if item else "L", CALLED_SO)
    act.lose()
    return True


def name_words(act: Acting, words: Words) -> None:
    """Words of a mill that change a way and are not followed: corners rounded off or cut, axes beside X Y Z A B C."""
    for letter in (*CORNERS, *FURTHER):
        if letter in words and not (letter == "U" and "4" in words.g):
            kind = "corner" if letter in CORNERS else "axis"
            act.name_once(kind, letter, f"{MORE[kind]}, here and after")
    if "R" in words and act.control.motion in ("0", "1") and words.has_axes():
        act.name_once("R", "R", f"beside G{act.control.motion}, here and after")
    if TURNS in words and act.control.motion in ("2", "3") and (words.has_axes() or words.any_of("IJK")):
        act.name("L", "beside an arc: how many turns it makes differs between controls")


def _cancel(act: Acting, words: Words, code: str) -> bool:
    """End what the code cancels; whether it has used up the axis words: of a mirror they name the axes.

    A G100 with axis words and no mirror to end is a code that is not known.
    """
    active = [one for one in CANCELS[code] if one in act.control.doubts]
    for cancelled in active:
        act.control.doubts.discard(cancelled)
        act.lose()
    if code == "100" and not active and words.has_axes():
        return _other(act, code)
    return code in ("50.1", "100")


def _doubt(act: Acting, words: Words, code: str) -> None:
    """From here on words are read otherwise. ``G54.2 P0``, ``G7.1 C0`` and their like cancel."""
    control = act.control
    off = code in ("7.1", "107", "54.2", "54.4") and any(
        item.value == 0 for item in words.said if item.letter != "G"
    )
    if off:
        control.doubts.discard(code)
    else:
        act.name(f"G{code}")
        control.doubts.add(code)
    act.lose()


def _other(act: Acting, code: str) -> bool:
    """A code that may move the axes once, or that is not known."""
    if act.control.lathe or code in BY_SETTING or code in ENDS_WHERE_TOLD or code.startswith("38."):
        return False
    act.name(f"G{code}")
    act.lose()
    return True


def unfollowed_motion(act: Acting, code: str | None) -> None:
    """Axis words under a motion that is not followed, or under none."""
    targets = act.targets()
    if code in ENDS_WHERE_TOLD or code in (None, "80"):
        for place, figure in targets.items():
            act.control.position[place] = figure
    else:
        act.lose(targets)
    if code in (None, "80"):
        act.name_once("no motion", "axis words", "no G0 to G3 in force, here and after")
    else:
        act.name(f"G{code}")
