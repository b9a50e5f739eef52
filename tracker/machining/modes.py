"""Words that stay in force, in the order of NISTIR 6556 (2000), Table 8, and what starts and ends with them.

Units come before F here: an F beside G20 or G21 is read in the units of its own block, as controls that read the
whole block first do. The F in force is kept as the physical speed when units change.
"""

from tracker.machining.acting import Acting
from tracker.machining.axes import LINEAR, factor_between
from tracker.machining.block_words import UNTOLD, Words, whole
from tracker.machining.control import Control
from tracker.machining.drilling import CYCLES
from tracker.machining.feeds import INVERSE, LATHE_MODES, MODES, PER_MINUTE, dwell_minutes
from tracker.machining.tool_words import change_tool
from tracker.machining.watch import DWELL, Move

PLAIN_WORDS = "FSTDH"
"""Letters beside G and M that change what stays in force."""

UNITS = {"20": "inch", "21": "mm"}
PATH = frozenset({"61", "61.1", "62", "63", "64"})
WORK = frozenset({"54", "55", "56", "57", "58", "59", "59.1", "59.2", "59.3", *map(str, range(110, 130))})
POLAR = frozenset({"112", "113"})
"""On a lathe they turn the polar way of writing on and off (common practice, from memory)."""
NUMBERED_WORK = frozenset({"54.1", "154"})
LENGTHS = frozenset({"43", "43.1", "43.2", "43.3", "43.4", "43.5", "44", "49", "49.1"})
RADIUS = frozenset({"40", "41", "41.1", "42", "42.1"})
OTHER_D = frozenset({"10", "41.1", "42.1"})
"""Beside them D is no number of an offset."""
MOTION = frozenset({"0", "1", "2", "3", "5.2", "5.3", "33", "33.1", "38.2", "38.3", "38.4", "38.5", *CYCLES})
CURVES = frozenset({"5", "5.1"})
"""With axis words they are splines; without, only a way of running."""
LATHE_MOTION = frozenset({"0", "1", "2", "3", "32", "33", "34", "90", "92", "94"})


def set_modes(act: Acting, words: Words) -> None:
    """Everything of a block that stays in force, and its dwell."""
    _units(act, words)
    _feed(act, words)
    _speed(act, words)
    if "T" in words or words.m:
        change_tool(act, words)
        _machine(act, words)
    if "4" in words.g:
        dwell(act, words, "G4", "PXU")
    for code in words.g:
        _code(act, words, code)
    _numbers(act, words)
    _motion_code(act, words)


def _units(act: Acting, words: Words) -> None:
    """G20 and G21. The first of them says the units everything is kept in, unless something has moved before."""
    control = act.control
    for code in words.g:
        units = UNITS.get(code)
        if units is None:
            continue
        if not act.travelled and not act.units_said:
            _keep_in(act, factor_between(control.base, units))
            control.base = units
        elif control.base is None:
            act.name(f"G{code}", "lengths before it have no units")
            control.base = units
        act.units_said = True
        control.units = units


def _keep_in(act: Acting, factor: float) -> None:
    """Figures known from the start are in the units of the start."""
    if factor == 1:
        return
    control = act.control
    for place in range(LINEAR):
        here = control.position[place]
        control.position[place] = None if here is None else here * factor
    control.feed = None if control.feed is None else control.feed * factor
    act.offsets.scale(factor)


def _feed(act: Acting, words: Words) -> None:
    """F, and how it is read; a mill that has not said so reads it per minute."""
    control = act.control
    for code in words.g:
        mode = LATHE_MODES.get(code) if control.lathe else MODES.get(code)
        if mode is not None:
            if (control.feed_mode or (None if control.lathe else PER_MINUTE)) not in (None, mode):
                control.feed = None
            control.feed_mode = mode
    if "F" in words:
        value = words.value("F")
        control.feed = value if value is None or control.feed_mode == INVERSE else value * act.factor


def _speed(act: Acting, words: Words) -> None:
    """S, and what it means: G96 makes it a cutting speed, G50 or G92 without axis words the highest speed.

    An S said under the one of G96 and G97 is none under the other. What turns until there is a new one, the control
    reckons (macro-type controls, from memory).
    """
    control = act.control
    if "96" in words.g or "97" in words.g:
        surface = [code for code in words.g if code in ("96", "97")][-1] == "96"
        if surface != control.surface:
            control.surface, control.speed = surface, None
    if "S" not in words:
        return
    if states_limit(control, words):
        control.limit = words.value("S")
    else:
        control.speed = words.value("S")


def states_limit(control: Control, words: Words) -> bool:
    """Whether S is the highest speed; on a lathe G50 with S says so beside axis words too (common practice)."""
    if "50" in words.g and control.lathe:
        return "S" in words
    return ("50" in words.g or "92" in words.g) and "S" in words and not words.any_of("XYZABCUVWH")


def _machine(act: Acting, words: Words) -> None:
    """M3 to M5, M7 to M9, and through the spindle: M88 on, M89 off (from memory)."""
    control = act.control
    for code in words.m:
        if code in ("3", "4", "5"):
            control.spindle = code
        elif code in ("7", "8", "88"):
            control.coolant.add(code)
        elif code == "9":
            control.coolant.clear()
        elif code == "89":
            control.coolant.discard("88")


def dwell(act: Acting, words: Words, code: str, letters: str) -> None:
    """A dwell of as long as P (or X or U) says, with code ``code``."""
    for letter in letters:
        item = words.word(letter)
        if item is None:
            continue
        minutes, thousandths = dwell_minutes(item.value, item.word.number, letter=letter)
        if thousandths and item.value:
            act.guess(f"P without a point in a dwell is read as milliseconds: {code} {item.word.text}")
        if minutes is None:
            act.name(f"how long {code} waits")
        wait(act, code, minutes)
        return


def waits(words: Words) -> bool:
    """Whether the axis words of a block are a dwell's: G4 X without a P (macro-type controls, from memory)."""
    return "4" in words.g and "P" not in words


def wait(act: Acting, code: str, minutes: float | None) -> None:
    """The tool waits where it stands."""
    here = tuple(act.control.position)
    act.move(Move(kind=DWELL, code=code, start=here, end=here, length=0.0, minutes=minutes))


def _code(act: Acting, words: Words, code: str) -> None:
    """A G code that stays in force and is no motion."""
    control = act.control
    if code in ("17", "18", "19"):
        control.plane = int(code)
    elif code in RADIUS:
        control.radius = code
    elif code in LENGTHS:
        _length(act, words, code)
    elif code in WORK and not (control.lathe and code in POLAR):
        number = words.value("P") if code == "54" else None
        act.offsets.select(control, f"G54.1 P{number:g}" if number is not None else f"G{code}")
    elif code in NUMBERED_WORK:
        number = words.value("P")
        act.offsets.select(control, f"G{code} P?" if number is None else f"G{code} P{number:g}")
        if number is None:
            act.name(f"G{code}", "its P is not known")
    elif code in PATH:
        control.exact = code
    elif not control.lathe:
        _mill_code(act, code)


def _mill_code(act: Acting, code: str) -> None:
    control = act.control
    if code in ("90", "91"):
        control.absolute = code == "90"
    elif code in ("90.1", "91.1"):
        control.arc_absolute = code == "90.1"
    elif code in ("98", "99"):
        control.retract = code


def _length(act: Acting, words: Words, code: str) -> None:
    control = act.control
    mode = "49" if code == "49.1" else code
    h = whole(words.value("H")) if "H" in words else control.h
    act.offsets.set_length(control, mode, None if mode == "49" else h)
    if mode not in ("43", "44", "49"):
        act.name(f"G{code}")


def _numbers(act: Acting, words: Words) -> None:
    """D and H that change what is in force, also without their G code.

    A D before its G41, often beside G43, is the one that G41 takes (macro-type controls, from memory).
    """
    control = act.control
    if "D" in words and not control.lathe and not any(code in OTHER_D or code in CYCLES for code in words.g):
        control.d = whole(words.value("D"))
    if "H" in words and not control.lathe and control.length in ("43", "44"):
        act.offsets.set_length(control, control.length, whole(words.value("H")))


def _motion_code(act: Acting, words: Words) -> None:
    """The motion in force. G80 beside another motion only ends the cycle."""
    control = act.control
    known = LATHE_MOTION if control.lathe else MOTION
    curves = CURVES if words.has_axes() and not control.lathe else frozenset()
    here = [code for code in words.g if code in known or code in curves or code == UNTOLD]
    if control.lathe and "92" in here and states_limit(control, words):
        here.remove("92")
    if here:
        control.motion = None if here[-1] == UNTOLD else here[-1]
    elif "80" in words.g:
        control.motion = "80"
    if UNTOLD in words.g:
        act.lose()
    if (here or "80" in words.g) and control.motion not in CYCLES:
        act.cycle.end()


def stop(act: Acting, words: Words) -> None:
    """M0, M1, M60 wait for the operator; M2 and M30 end the program."""
    for code in words.m:
        if code in ("0", "1", "60"):
            act.event("stop", f"M{code}")
        elif code in ("2", "30"):
            act.ended = f"M{code}"
            _at_end(act)


def _at_end(act: Acting) -> None:
    """What M2 and M30 set back (NISTIR 6556 section 3.6.1)."""
    control = act.control
    control.spindle, control.radius = "5", "40"
    control.coolant.clear()
    if control.lathe:
        return
    act.offsets.stand_back(control, [0.0] * LINEAR)
    act.offsets.select(control, "G54")
    control.plane, control.absolute, control.motion = 17, True, "1"
    control.feed_mode = PER_MINUTE
    act.cycle.end()
