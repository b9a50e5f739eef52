"""Drilling cycles G73, G74, G76, G81 to G89 with G98 and G99. NISTIR 6556 (2000), section 3.5.16.

Where that report leaves a cycle out (G73, G74, G76) or later open-source practice is plainer (LinuxCNC documentation,
G codes), the latter: G73 breaks the chip by 0.010 in (0.254 mm); between pecks G83 goes back to R, then to as much
above where it was; G84, G85 and G89 feed back to R and go on rapid from there.

K counts holes as well as L does (macro-type controls). With 0 the cycle is only remembered.
"""

from tracker.machining.acting import Acting
from tracker.machining.axes import PLANES
from tracker.machining.block_words import Words, whole
from tracker.machining.drilling_ways import WAYS, Hole
from tracker.machining.watch import RAPID

CYCLES = frozenset(WAYS)
DEPTH = "XYZ"
MOST_REPEATS = 10_000
"""Holes of one block that are followed."""
LEVELS = "RZ"
PECKING = frozenset({"73", "83"})
KEPT_LEVELS = (
    "G90 or G91 was changed to within a cycle: its R and depth are taken to stay where they are, as long as they are "
    "not stated again"
)
WITHOUT_DWELL = frozenset({"73", "81", "83", "85"})
"""Cycles a P of another cycle says nothing to (NISTIR 6556 section 3.5.16); one of their own makes them wait."""


def drill(act: Acting, words: Words, code: str) -> None:
    """The cycle in force with the words of this block, as often as it says."""
    _remember(act, words, code)
    control = act.control
    first, second, third = PLANES[control.plane]
    if control.doubts:
        act.lose((first, second, third))
        return
    if not words.has_axes():
        act.name(f"G{code}", "no axis words")
        return
    repeats = _repeats(words, code)
    if repeats is None:
        act.name(f"G{code}", "how often is not known")
        act.lose((first, second, third))
        return
    if repeats == 0:
        act.guess(f"a cycle with L0 or K0 is only remembered, the axes stay: G{code}")
        return
    clear, r, bottom = _levels(act)
    if r is None or bottom is None:
        act.name(f"G{code}", f"its {'R' if r is None else 'depth'} is not known")
        _arrive(act, third, clear)
        return
    if bottom > r and code != "87":
        act.name(f"G{code}", "its depth is above R")
        _arrive(act, third, clear)
        return
    hole = Hole(act=act, code=code, third=third, r=r, bottom=bottom, clear=r if clear is None else clear)
    if repeats > MOST_REPEATS:
        act.name(f"G{code}", f"more than {MOST_REPEATS} times")
    _rise(act, hole)
    for _ in range(min(repeats, MOST_REPEATS)):
        if act.cycle_moves > act.setting.most_blocks:
            act.name_once(
                "cycle moves", f"G{code}", f"cycles have made {act.cycle_moves} moves; no more are followed"
            )
            break
        _one(act, hole)
    if clear is None:
        act.lose((third,))  # drawn back to where it came from, and that is not known


def _remember(act: Acting, words: Words, code: str) -> None:
    """Words of a cycle stay until it ends; what is not a length is kept as it is."""
    control, cycle = act.control, act.cycle
    third = PLANES[control.plane][2]
    if cycle.code is None:
        cycle.initial = control.position[third]
    if cycle.code != code and code in WITHOUT_DWELL:
        cycle.dwell = None
    cycle.code = code
    for letter in (DEPTH[third], *"RQIJK"):
        if letter in words:
            name = "Z" if letter == DEPTH[third] else letter
            cycle.words[name] = act.length(letter)
            if name in LEVELS:
                cycle.absolute[name] = act.is_absolute()
    item = words.word("P")
    if item is not None:
        cycle.dwell = item


def _repeats(words: Words, code: str) -> int | None:
    """How many holes: L, or K where K is no word of the cycle itself.

    With I or J in a pecking cycle K is the least peck (macro-type controls; common practice, from memory).
    """
    own = code == "87" or (code in PECKING and ("I" in words or "J" in words))
    for letter in "L" if own else "LK":
        if letter in words:
            number = whole(words.value(letter))
            return None if number is None else abs(number)
    return 1


def _levels(act: Acting) -> tuple[float | None, float | None, float | None]:
    """Where the tool is drawn back to, R and the depth; under G91 R counts from the initial level, the depth from R.

    So R stays where it is from hole to hole under G99 too (LinuxCNC and macro-type controls; NISTIR 6556 section 3.5.16
    has R count from where the tool stands).
    What was stated under G90 stays where it is when a row of holes follows under G91, as in ``G91 X10. K3`` (macro-type
    controls; common practice, from memory); the interpreter of RS274/NGC counts its figures anew, so this is stated.
    G98 draws back to where the axis stood before the first of a row of cycles, or to R if that is higher (3.5.20).
    """
    control, words = act.control, act.cycle.words
    r, depth = words.get("R"), words.get("Z")
    initial = act.cycle.initial
    absolute = act.is_absolute()
    if any(stated is not absolute for stated in act.cycle.absolute.values()):
        act.guess(KEPT_LEVELS)
    if not act.cycle.absolute.get("R", absolute):
        r = None if r is None or initial is None else initial + r
    if not act.cycle.absolute.get("Z", absolute):
        depth = None if depth is None or r is None else r + depth
    if control.retract == "99":
        return r, r, depth
    if control.retract is None:
        act.guess("neither G98 nor G99: cycles are taken to draw back as under G98")
    if initial is None or r is None:
        return initial, r, depth
    return max(initial, r), r, depth


def _rise(act: Acting, hole: Hole) -> None:
    """Below R the tool goes up to R first, once (section 3.5.16.1)."""
    here = act.control.position[hole.third]
    if here is not None and here < hole.r:
        hole.to(RAPID, hole.r)


def _one(act: Acting, hole: Hole) -> None:
    """One hole: over it, down to R, the cycle's own way, back."""
    targets = {p: figure for p, figure in act.targets().items() if p != hole.third}
    if targets:
        steps = act.steps(targets)
        if any(step is None or step != 0 for step in steps):
            act.line(RAPID, hole.name, targets, steps=steps)
    if act.control.position[hole.third] != hole.r:
        hole.to(RAPID, hole.r)
    WAYS[hole.code](hole)


def _arrive(act: Acting, third: int, clear: float | None) -> None:
    """Without a hole the axes are known to be over it, and drawn back."""
    for place, figure in act.targets().items():
        act.control.position[place] = clear if place == third else figure
    act.control.position[third] = clear
