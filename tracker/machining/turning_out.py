"""Legs of a turning cycle handed out as moves, with their minutes."""

from collections.abc import Iterable

from tracker.machining.acting import Acting
from tracker.machining.turning_minutes import arc_of, leg_minutes, missing
from tracker.machining.turning_shape import Leg, length
from tracker.machining.watch import ARC, FEED, RAPID, Move


def hand_out(act: Acting, code: str, legs: Iterable[Leg], *, hole: bool = False, timed: bool = True) -> None:
    """Make moves of legs that begin where the tool stands. F and S of a leg come into force with it.

    Moves of cycles are bounded as blocks are, so that no loop of cycles runs for ever.
    With ``hole`` the first feed move is the first of a hole; without ``timed`` minutes are left out.
    """
    control = act.control
    if control.doubts:
        act.lose((0, 2))
        return
    for leg in legs:
        act.turning.legs += 1
        if act.turning.legs > act.setting.most_blocks:
            act.name_once("legs", code, f"left after {act.setting.most_blocks} moves of cycles")
            act.lose((0, 2))
            return
        if leg.feed is not None:
            control.feed = leg.feed
        if leg.speed is not None:
            control.speed = leg.speed
        start = tuple(control.position)
        z, r = leg.end
        control.position[0], control.position[2] = 2 * r, z
        first = hole and not leg.rapid
        kind = RAPID if leg.rapid else FEED if leg.centre is None else ARC
        act.move(
            Move(
                kind=kind,
                code=code,
                start=start,
                end=tuple(control.position),
                arc=arc_of(leg),
                length=length(leg),
                minutes=_minutes(act, leg) if timed and not leg.rapid else None,
                hole=first,
            )
        )
        hole = hole and not first


def _minutes(act: Acting, leg: Leg) -> float | None:
    """Minutes of a feed move; why they are not known is named once a tool."""
    took = leg_minutes(act.control, act.setting, leg)
    if took is None and length(leg) > 0:
        act.name_once("minutes", f"minutes of feed moves without a known {missing(act.control, leg)}, first")
    return took
