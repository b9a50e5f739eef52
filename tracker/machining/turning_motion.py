"""Straight moves, arcs and threads of a lathe, and the cycles G90, G92 and G94 that stay in force.

X and U are diameters, U V W H count from where the axes stand (X Y Z C), whatever else is in force. Common practice of
turning controls whose G90 is a cycle, from memory.
"""

import math

from tracker.machining import arc_motion
from tracker.machining.acting import Acting
from tracker.machining.axes import LINEAR, PLACE
from tracker.machining.block_words import Words
from tracker.machining.turning_out import hand_out
from tracker.machining.turning_shape import SMALL, Leg, Point
from tracker.machining.turning_simple import face, turn
from tracker.machining.turning_thread import thread_pass
from tracker.machining.turning_words import UNKNOWN, leads_to, standing
from tracker.machining.watch import FEED, RAPID

STEPS = {"U": 0, "V": 1, "W": 2, "H": 5}
"""Letters that count from where an axis stands, and its place."""
CORNERS = (",C", ",R", "R", "I", "K")
"""Beside a straight move they cut or round its corner with the next."""
CYCLES = frozenset({"90", "92", "94"})
THREADS = frozenset({"32", "33", "34"})
ALL_AXES = "XYZABCUVWH"


def moves(act: Acting, words: Words) -> bool:
    """Do the motion in force with the axis words of a block; False if it is none of a lathe's."""
    code = act.control.motion
    if code not in CYCLES:
        act.turning.code = None
    if code in ("2", "3"):
        if words.any_of(ALL_AXES) or words.any_of("IK"):
            arc_motion.arc_to(act, words, targets(act, words), clockwise=code == "2")
        return True
    if not words.any_of(ALL_AXES) and ",A" not in words:
        return code in ("0", "1") or code in CYCLES or code in THREADS
    if code in ("0", "1"):
        _line(act, words, code)
    elif code in THREADS:
        _thread(act, words, code)
    elif code in CYCLES:
        _cycle(act, words, code)
    else:
        return False
    return True


def targets(act: Acting, words: Words) -> dict[int, float | None]:
    """Where the axis words of a block lead, by place; None where it cannot be told."""
    found = act.targets()
    for letter, place in STEPS.items():
        if letter not in words:
            continue
        value, here = words.value(letter), act.control.position[place]
        far = value * act.factor if value is not None and place < LINEAR else value
        from_here = found.get(place, here)
        found[place] = None if far is None or from_here is None else from_here + far
    return found


def _line(act: Acting, words: Words, code: str) -> None:
    there = targets(act, words)
    if code == "1":
        _angle(act, words, there)
        corner = next((words.word(letter) for letter in CORNERS if letter in words), None)
        if corner is not None:
            act.name(corner.word.text, "a corner outside a contour")
    act.line(RAPID if code == "0" else FEED, "G" + code, there)


def _angle(act: Acting, words: Words, there: dict[int, float | None]) -> None:
    """``,A`` (or A) beside one of X and Z: the other follows from where the tool stands."""
    letter = ",A" if ",A" in words else "A"
    if letter not in words:
        return
    there.pop(PLACE["A"], None)
    angle, start = words.value(letter), standing(act)
    x, z = there.get(0), there.get(2)
    rise, run = (
        (0.0, 0.0) if angle is None else (math.sin(math.radians(angle)), math.cos(math.radians(angle)))
    )
    if start is not None and x is not None and 2 not in there and abs(rise) > SMALL:
        there[2] = start[0] + (x / 2 - start[1]) * run / rise
    elif start is not None and z is not None and 0 not in there and abs(run) > SMALL:
        there[0] = 2 * (start[1] + (z - start[0]) * rise / run)
    else:
        act.name(f"angle {letter}", "where it leads is not known")
        act.lose((0, 2))
        there.clear()


def _thread(act: Acting, words: Words, code: str) -> None:
    """G32 and G33: one pass at a lead; G34 with a lead that changes has no minutes."""
    there = targets(act, words)
    start = standing(act)
    x, z = there.get(0, act.control.position[0]), there.get(2, act.control.position[2])
    if code == "34":
        act.name("G34", "minutes of a lead that changes")
    if start is None or x is None or z is None or set(there) - {0, 2}:
        act.line(FEED, "G" + code, there)
        return
    hand_out(act, "G" + code, [Leg(start=start, end=(z, x / 2), thread=True)], timed=code != "34")


def _cycle(act: Acting, words: Words, code: str) -> None:
    """One pass of G90, G92 or G94; X, Z and R stay in force with it."""
    memory = act.turning
    start = standing(act)
    if memory.code != code:
        memory.code, memory.end, memory.taper = code, start, 0.0
    letter = next((one for one in ("R", "K" if code == "94" else "I") if one in words), None)
    if letter is not None:
        memory.taper = act.length(letter)
    end = None if start is None else leads_to(act, words, start)
    if start is None or end is None or memory.end is None or memory.taper is None:
        memory.end = None
        act.name(f"G{code}", UNKNOWN)
        return
    memory.end = _kept(words, end, memory.end)
    if code == "90":
        legs = turn(start, memory.end, memory.taper)
    elif code == "94":
        legs = face(start, memory.end, memory.taper)
    else:
        legs = thread_pass(start, memory.end, memory.taper)
    hand_out(act, "G" + code, legs)


def _kept(words: Words, said: Point, before: Point) -> Point:
    """Where a pass goes: what the block does not say is as before."""
    z = said[0] if words.any_of("ZW") else before[0]
    r = said[1] if words.any_of("XU") else before[1]
    return z, r
