"""Drilling cycles G73, G74, G76, G81 to G89 with G98 and G99. NISTIR 6556 (2000), section 3.5.16.

Where that report leaves a cycle out (G73, G74, G76) or later open-source practice is plainer (LinuxCNC documentation,
G codes), the latter: G73 breaks the chip by 0.010 in (0.254 mm); between pecks G83 goes back to R, then to as much
above where it was; G84, G85 and G89 feed back to R and go on rapid from there.

K counts holes as well as L does (macro-type controls). With 0 the cycle is only remembered.
"""

from tracker.machining.acting import Acting
from tracker.machining.axes import LINEAR, PLANES
from tracker.machining.block_words import Words, whole
from tracker.machining.drilling_ways import WAYS, Hole
from tracker.machining.watch import RAPID

CYCLES = frozenset(WAYS)
DEPTH = "XYZ"


def drill(act: Acting, words: Words, code: str) -> None:
    """The cycle in force with the words of this block, as often as it says."""
    _remember(act, words, code)
    control = act.control
    first, second, third = PLANES[control.plane]
    if control.doubts:
        act.lose((first, second, third))
        return
    if not words.has_axes():
        act.name(f"G{code} without axis words")
        return
    repeats = _repeats(words, code)
    if repeats is None:
        act.name(f"G{code}: how often")
        act.lose((first, second, third))
        return
    if repeats == 0:
        act.guess(f"a cycle with L0 or K0 is only remembered, the axes stay: G{code}")
        return
    clear, r, bottom = _levels(act, third)
    if r is None or bottom is None:
        act.name(f"G{code} without a known {'R' if r is None else 'depth'}")
        _arrive(act, third, clear)
        return
    if bottom > r and code != "87":
        act.name(f"G{code} with its depth above R")
        _arrive(act, third, clear)
        return
    hole = Hole(act=act, code=code, third=third, r=r, bottom=bottom, clear=r if clear is None else clear)
    _rise(act, hole)
    for _ in range(min(repeats, act.setting.most_blocks)):
        _one(act, hole)


def _remember(act: Acting, words: Words, code: str) -> None:
    """Words of a cycle stay until it ends; what is not a length is kept as it is."""
    control, cycle = act.control, act.cycle
    third = PLANES[control.plane][2]
    if cycle.code is None:
        cycle.initial = control.position[third]
    cycle.code = code
    for letter in (DEPTH[third], *"RQIJK"):
        if letter in words:
            cycle.words["Z" if letter == DEPTH[third] else letter] = act.length(letter)
    item = words.word("P")
    if item is not None:
        cycle.dwell = item


def _repeats(words: Words, code: str) -> int | None:
    """How many holes: L, or K where K is no word of the cycle itself."""
    for letter in "L" if code == "87" else "LK":
        if letter in words:
            number = whole(words.value(letter))
            return None if number is None else abs(number)
    return 1


def _levels(act: Acting, third: int) -> tuple[float | None, float | None, float | None]:
    """Where the tool is drawn back to, R and the depth; under G91 R counts from where it stands, the depth from R.

    G98 draws back to where the axis stood before the first of a row of cycles, or to R if that is higher (3.5.20).
    """
    control, words = act.control, act.cycle.words
    r, depth = words.get("R"), words.get("Z")
    here = control.position[third]
    if not act.is_absolute():
        if control.retract == "99" and "R" not in act.words:
            act.guess("under G91 with G99 R counts from where the tool stands (NISTIR 6556 section 3.5.16)")
        r = None if r is None or here is None else here + r
        depth = None if depth is None or r is None else r + depth
    if control.retract == "99":
        return r, r, depth
    initial = act.cycle.initial
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
        if any(step is None or step != 0 for step in steps[:LINEAR]) or any(steps[LINEAR:]):
            act.line(RAPID, hole.name, targets, steps=steps)
    if act.control.position[hole.third] != hole.r:
        hole.to(RAPID, hole.r)
    WAYS[hole.code](hole)


def _arrive(act: Acting, third: int, clear: float | None) -> None:
    """Without a hole the axes are known to be over it, and drawn back."""
    for place, figure in act.targets().items():
        act.control.position[place] = clear if place == third else figure
    act.control.position[third] = clear
