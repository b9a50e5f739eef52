"""What only a lathe does, of the common kind: G90, G92 and G94 are cycles, G98 and G99 feed modes, X is a diameter.

Common practice of turning controls, from memory; the parts are in the modules ``turning_*``. Where controls differ and
the program does not say (retracts and spring passes set in the control, pockets of G71, words of other systems of G
codes), it is named as not followed, never guessed.
"""

from tracker.machining.acting import Acting
from tracker.machining.axes import LINEAR
from tracker.machining.block_words import UNTOLD, Words
from tracker.machining.doubts import DONE, QUIET, READ_OTHERWISE
from tracker.machining.turning_cycles import contour_cycle
from tracker.machining.turning_fixed import fixed_cycle
from tracker.machining.turning_motion import ALL_AXES, STEPS, moves, targets

CONTOURS = frozenset({"70", "71", "72", "73"})
FIXED = frozenset({"74", "75", "76"})
DRILLING = frozenset(str(code) for code in range(81, 90))
_MILL = frozenset({"91", "90.1", "91.1", "93", "95", "92.1", "92.2", "92.3"})
_KNOWN = (
    (DONE | QUIET | READ_OTHERWISE | CONTOURS | FIXED | {"32", "34", "50", "69", UNTOLD}) - DRILLING - _MILL
)
_MIRROR, _MIRROR_OFF = "68", "69"
WRITTEN = "offset-written"


def acts(act: Acting, words: Words) -> bool:
    """Do a block of a lathe; whether its axis words are used up."""
    _other_system(act, words)
    if _strange(act, words):
        return True
    for code in words.g:
        if code in CONTOURS:
            contour_cycle(act, words, code)
            return True
        if code in FIXED:
            fixed_cycle(act, words, code)
            return True
        if code == "4":
            return True
        if code == "50" and words.any_of(ALL_AXES):
            _preset(act, words)
            return True
        if code == "52":
            act.event(WRITTEN, words.spelled())
            act.offsets.local(act.control, _as_written(act, words))
            return True
    if act.control.motion in DRILLING:
        return _drill(act, words)
    return moves(act, words)


def _as_written(act: Acting, words: Words) -> dict[int, float | None]:
    return {
        place: value * act.factor if value is not None and place < LINEAR else value
        for place, value in words.axes()
    }


def _preset(act: Acting, words: Words) -> None:
    """G50 with axis words: from here on the axes stand at these figures; U and W shift them."""
    act.event(WRITTEN, words.spelled())
    act.offsets.stand_at(act.control, targets(act, words))


def _other_system(act: Acting, words: Words) -> None:
    """Words of controls where G90 and G91 say how axis words count: they are named, G90 beside a motion is no cycle."""
    motions = [code for code in words.g if code in ("0", "1", "2", "3")]
    cycles = [code for code in words.g if code in ("90", "94")]
    if cycles and motions:
        act.name_once("system", f"G{cycles[0]} beside G{motions[0]}", "taken as no cycle there")
        act.control.motion = motions[-1]
    if "91" in words.g:
        act.name("G91", "how axis words count on this lathe is not known")
        act.control.doubts.add("91")
        act.lose()
    elif "90" in cycles and "91" in act.control.doubts:
        act.control.doubts.discard("91")


def _strange(act: Acting, words: Words) -> bool:
    """Codes that are not followed; whether one of them has used up the axis words."""
    taken = False
    for code in words.g:
        if code == _MIRROR:
            act.name("G68", "mirrored turret")
            act.control.doubts.add(_MIRROR)
            act.lose((0, 2))
        elif code == _MIRROR_OFF and _MIRROR in act.control.doubts:
            act.control.doubts.discard(_MIRROR)
            act.lose((0, 2))
        elif code in DRILLING:
            act.control.motion = code
        elif code not in _KNOWN and code != "91":
            act.name(f"G{code}")
            if words.any_of(ALL_AXES):
                act.lose(_places(words))
                taken = True
    return taken


def _places(words: Words) -> list[int]:
    return [place for place, _ in words.axes()] + [
        place for letter, place in STEPS.items() if letter in words
    ]


def _drill(act: Acting, words: Words) -> bool:
    """Drilling cycles of a lathe: what R and Q mean differs between controls, so they are named."""
    if words.any_of(ALL_AXES):
        act.name(f"G{act.control.motion}", "what its words mean differs between lathes")
        act.lose(_places(words))
    return True
