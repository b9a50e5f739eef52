"""G28, G30 and G53: moves in the machine's coordinates. NISTIR 6556 (2000), sections 3.5.8 and 3.5.12.

G28 and G30 go by way of the point their axis words name to the home position; only the axes that are named go there
(common practice; without axis words all of them do). Where home is in program coordinates is known only with the
figures of the offsets.
"""

from collections.abc import Mapping

from tracker.machining.acting import Acting
from tracker.machining.axes import AXES, LINEAR
from tracker.machining.block_words import Words
from tracker.machining.feeds import feed_minutes
from tracker.machining.motion import Places, straight
from tracker.machining.watch import FEED, RAPID, Move

HOMES = ("28", "30")
LATHE_STEPS = {"U": 0, "V": 1, "W": 2}


def acts(act: Acting, words: Words) -> bool:
    """Do such a word; whether there was one, so that axis words are used up."""
    home = next((code for code in words.g if code in HOMES), None)
    if home:
        _go_home(act, words, f"G{home}")
        return True
    if "53" in words.g:
        if words.has_axes():
            _machine_move(act, words)
        return words.has_axes()
    return False


def _go_home(act: Acting, words: Words, code: str) -> None:
    named = _by_way_of(act, words)
    steps = act.steps(named) if not act.control.lathe else None
    if named and (steps is None or any(step is None or step != 0 for step in steps)):
        act.line(RAPID, code, named, steps=steps)
    places = list(named) or list(range(LINEAR))
    home = act.setting.home if code == "G28" else None
    there = {place: home[place] if home and place < LINEAR else None for place in places}
    to_machine(act, RAPID, code, there)


def _by_way_of(act: Acting, words: Words) -> dict[int, float | None]:
    """The point on the way; on a lathe U and W say how far."""
    named = act.targets()
    if act.control.lathe:
        for letter, place in LATHE_STEPS.items():
            if letter in words:
                here, step = act.control.position[place], act.length(letter)
                named[place] = None if here is None or step is None else here + step
    return named


def _machine_move(act: Acting, words: Words) -> None:
    """G53: the axis words are machine coordinates, for this block only and whatever G90 and G91 say."""
    motion = act.control.motion
    if motion not in ("0", "1"):
        act.name("G53", "neither G0 nor G1 is in force")
        act.lose([place for place, _ in words.axes()])
        return
    factor = act.factor
    there = {
        place: figure * factor if figure is not None and place < LINEAR else figure
        for place, figure in words.axes()
    }
    to_machine(act, RAPID if motion == "0" else FEED, "G53", there)


def to_machine(act: Acting, kind: str, code: str, there: Mapping[int, float | None]) -> None:
    """A move of some axes to machine coordinates."""
    control = act.control
    if control.doubts:
        act.lose(list(there))
        return
    start = tuple(control.position)
    steps: Places = [0.0] * len(AXES)
    end: Places = [None] * len(AXES)
    for place, figure in there.items():
        shift = act.offsets.shift(control, place) if place < LINEAR else None
        here = control.position[place]
        known = None if figure is None or shift is None else figure - shift
        steps[place] = None if known is None or here is None else known - here
        control.position[place], end[place] = known, figure
    length = straight(steps, lathe=control.lathe)
    minutes = feed_minutes(control, length) if kind == FEED else None
    if kind == FEED and length is None:
        act.name_once("G53", "G53", "a feed from where the axes are not known, here and after")
    act.move(
        Move(kind=kind, code=code, start=start, end=tuple(end), length=length, minutes=minutes, machine=True)
    )
