"""Two runs held against each other, move by move."""

import math
from collections import deque

from tests.oracle.steps import Step, Told, arc_length, extents, straight

NEAR = {"inch": 1e-4, "mm": 1e-3}
"""How far places may be apart."""
COARSE = 2.6e-3
"""The same in a program in millimetres while inches are in force: the interpreter prints 1/10000 in."""
ALIKE = 2e-3
"""Rates agree to this part: the interpreter prints four decimals of them."""
SLOWEST = 0.1
"""The interpreter never tells a lower rate in inverse time, in the units in force."""

Pair = tuple[Step, Step]


def near(one: Told, other: Told) -> list[str]:
    """In what two runs differ, in words; none where they agree. ``one`` is the interpreter's, ``other`` ours.

    Where the ways part nothing after it is compared; differences in pace alone are all told.
    """
    tolerance = COARSE if one.coarse else NEAR[one.units]
    pairs, found = paired(one.steps, other.steps, tolerance)
    if not found:
        found = _sums(pairs, tolerance)
    for count, (a, b) in enumerate(pairs, start=1):
        found += [
            f"move {count}, line {b.line}: {words}" for words in _pace(a, b, tolerance, coarse=one.coarse)
        ]
    if one.events != other.events:
        found.append(f"{', '.join(one.events)}, ours {', '.join(other.events)}")
    return found + [f"ours names: {what}" for what in other.not_followed]


def paired(theirs: list[Step], ours: list[Step], tolerance: float) -> tuple[list[Pair], list[str]]:
    """Moves that belong together, and where the runs part; moves that go nowhere may be missing on either side."""
    pairs: list[Pair] = []
    left, right = deque(theirs), deque(ours)
    while left or right:
        apart = _apart(left[0], right[0], tolerance) if left and right else ["no such move"]
        if not apart:
            pairs.append((left.popleft(), right.popleft()))
        elif left and not _goes(left[0], tolerance):
            left.popleft()
        elif right and not _goes(right[0], tolerance):
            right.popleft()
        else:
            return pairs, [f"move {len(pairs) + 1}{_where(left, right)}: {words}" for words in apart]
    return pairs, []


def _where(left: deque[Step], right: deque[Step]) -> str:
    if left and right:
        return f", line {right[0].line}"
    return (
        f": {left[0].kind} to {_places(left[0])}"
        if left
        else f": ours {right[0].kind} at line {right[0].line}"
    )


def _goes(step: Step, tolerance: float) -> bool:
    """Whether a step goes anywhere or takes time, or may do."""
    if step.kind == "arc" or step.seconds:
        return True
    pairs = zip(step.start, step.end, strict=True)
    return any(a is None or b is None or abs(a - b) > 2 * tolerance for a, b in pairs)


def _apart(a: Step, b: Step, tolerance: float) -> list[str]:
    if a.kind != b.kind:
        return [f"{a.kind} to {_places(a)}, ours {b.kind} to {_places(b)}"]
    found = [
        f"{a.kind} from {name}{one:.4f}, ours {_text(other)}"
        for name, one, other in zip("XYZABC", a.start, b.start, strict=True)
        if other is not None and not _close(one, other, tolerance)
    ]
    for name, one, other, shift in zip("XYZABC", a.end, b.end, (*a.shift, 0.0, 0.0, 0.0), strict=True):
        if other is None and (b.machine or name in b.lost):
            continue
        if not _close(one + shift if b.machine else one, other, tolerance):
            found.append(f"{a.kind} to {name}{one:.4f}, ours {_text(other)}")
    if a.kind == "arc":
        if (a.plane, a.turns) != (b.plane, b.turns):
            found.append(f"plane, turns {a.plane}, {a.turns}, ours {b.plane}, {b.turns}")
        elif any(not _close(x, y, tolerance) for x, y in zip(a.centre, b.centre, strict=True)):
            found.append(f"centre {a.centre}, ours {b.centre}")
    if a.kind == "dwell" and not _close(a.seconds, b.seconds, 1e-3):
        found.append(f"dwell {a.seconds}, ours {b.seconds}")
    return found


def _pace(a: Step, b: Step, tolerance: float, *, coarse: bool) -> list[str]:
    """How long and how fast: our figures must follow from our own places exactly, and agree with theirs."""
    if a.kind == "dwell":
        return []
    found = []
    end = a.end if b.machine else b.end
    told = [i for i in range(3) if b.start[i] is not None or b.end[i] is not None]
    length = straight(tuple(b.start[i] for i in told), tuple(end[i] for i in told))
    if b.kind == "arc":
        length = arc_length(b.start, b.end, b.plane, b.centre, b.turns)
    exact = tolerance * 2 if b.machine else 1e-9 * (1 + (length or 0.0))
    if (length is None) != (b.length is None) or (length is not None and abs(length - b.length) > exact):
        found.append(f"length {_text(length)}, ours {_text(b.length)}")
    slow = a.rate is None or a.rate <= SLOWEST * (25.4 if coarse else 1.0)
    if not slow and _goes(a, tolerance) and (b.rate is None or abs(a.rate - b.rate) > ALIKE * a.rate):
        found.append(f"{a.kind} at {a.rate:.4f}, ours {_text(b.rate)}")
    if a.kind != "rapid" and a.speed and a.speed != b.speed:
        found.append(f"S {a.speed:.4f}, ours {_text(b.speed)}")
    return found


def _sums(pairs: list[Pair], tolerance: float) -> list[str]:
    """Whole lengths of what is known, and how far the feed moves reach."""
    known = [(a, b) for a, b in pairs if b.length is not None or b.kind == "dwell"]
    theirs, ours = [a for a, _ in known], [b for _, b in known]
    found = []
    for kinds in (("rapid",), ("feed", "arc")):
        one, other = (
            math.fsum(s.length or 0.0 for s in steps if s.kind in kinds) for steps in (theirs, ours)
        )
        if abs(one - other) > tolerance * (1 + sum(1 + abs(s.turns) * 6 for s in ours if s.kind in kinds)):
            found.append(f"{' and '.join(kinds)} {one:.4f} long, ours {other:.4f}")
    placed = [(a, b) for a, b in pairs if not b.machine and None not in (*b.start[:3], *b.end[:3])]
    reaches = extents([a for a, _ in placed]), extents([b for _, b in placed])
    for name, one, other in zip("XYZ", *reaches, strict=False):
        if not (_close(one[0], other[0], 2 * tolerance) and _close(one[1], other[1], 2 * tolerance)):
            found.append(f"{name} reaches {one}, ours {other}")
    return found


def _close(one: float | None, other: float | None, tolerance: float) -> bool:
    return one is not None and other is not None and abs(one - other) <= tolerance


def _text(value: float | None) -> str:
    return "not known" if value is None else f"{value:.4f}"


def _places(step: Step) -> str:
    return " ".join(_text(value) for value in step.end[:3])
