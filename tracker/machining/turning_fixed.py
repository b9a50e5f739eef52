"""G74 and G75 (pecks along the axis and across it) and G76 (threads), in two blocks or in one.

Common practice of turning controls, from memory. Two blocks: ``G74 R0.5`` / ``G74 X Z P Q R F`` with P the step across
and Q along, counted in least increments where they have no point; ``G76 P(passes, draw-out, angle) Q R`` / ``G76 X Z R P Q
F``. One block: I and K for the steps; ``G76 X Z I K D A F`` with K the height of the thread and D its first depth.
"""

from tracker.machining.acting import Acting
from tracker.machining.block_words import Words
from tracker.machining.turning_out import hand_out
from tracker.machining.turning_shape import SMALL, Point
from tracker.machining.turning_simple import MOST_PECKS, Pecks, peck_count, pecks
from tracker.machining.turning_thread import Thread, depths, thread_passes
from tracker.machining.turning_words import UNKNOWN, counted, leads_to, standing


def fixed_cycle(act: Acting, words: Words, code: str) -> None:
    """One block of G74, G75 or G76."""
    if not words.any_of("XUZW"):
        _first_block(act, words, code)
        return
    start = standing(act)
    end = None if start is None else leads_to(act, words, start)
    if start is None or end is None:
        act.name(f"G{code}", UNKNOWN)
        return
    why = _thread(act, words, start, end) if code == "76" else _pecks(act, words, code, start, end)
    if why is not None:
        act.name(f"G{code}", why)


def _first_block(act: Acting, words: Words, code: str) -> None:
    memory = act.turning
    if code != "76":
        back = act.length("R")
        memory.back = abs(back) if back is not None else None
        return
    least, finish = counted(act, words, "Q"), act.length("R")
    memory.least = least if least is not None else memory.least
    memory.finish = finish if finish is not None else memory.finish
    word = words.word("P")
    if word is None:
        return
    digits = word.word.number
    memory.springs = memory.chamfer = None
    if digits.isdigit() and len(digits) <= 6:
        figures = digits.zfill(6)
        memory.springs, memory.chamfer = int(figures[:2]), int(figures[2:4]) / 10


def _pecks(act: Acting, words: Words, code: str, start: Point, end: Point) -> str | None:
    """G74 or G75; returns why it cannot be followed."""
    across, two_blocks = code == "75", not words.any_of("IK")
    p, q, d = (counted(act, words, letter) for letter in "PQD")
    if two_blocks:
        if ("P" in words and p is None) or ("Q" in words and q is None):
            return "P or Q is not known"
        x_step, z_step, aside = p, q, act.length("R")
    else:
        x_step, z_step, aside = act.length("I"), act.length("K"), d
    step, shift = (x_step, z_step) if across else (z_step, x_step)
    wide = end[0] - start[0] if across else end[1] - start[1]
    if abs(wide) > SMALL and not shift:
        return "no step between its rows known"
    back = act.turning.back if two_blocks else None
    if back is None and step:
        act.name_once("peck", f"G{code}", "the control sets how far it draws back, lengths are without it")
    asked = Pecks(
        across=across,
        end=end,
        step=abs(step or 0.0),
        shift=abs(shift or 0.0),
        back=min(back or 0.0, abs(step or 0.0)),
        aside=abs(aside or 0.0),
    )
    if peck_count(asked, start) > MOST_PECKS:
        return f"more than {MOST_PECKS} pecks"
    drills = not across and abs(start[1]) <= SMALL and abs(end[1]) <= SMALL
    hand_out(act, "G" + code, pecks(asked, start), hole=drills)
    return None


def _thread(act: Acting, words: Words, start: Point, end: Point) -> str | None:
    """G76; returns why it cannot be followed."""
    if not act.control.feed or "F" not in words:
        return "no lead"
    asked = _one_block(act, words, end) if "D" in words else _two_blocks(act, words, end)
    if isinstance(asked, str):
        return asked
    found = depths(asked)
    if isinstance(found, str):
        return found
    hand_out(act, "G76", thread_passes(asked, start, found))
    return None


def _two_blocks(act: Acting, words: Words, end: Point) -> Thread | str:
    memory = act.turning
    height, first = counted(act, words, "P"), counted(act, words, "Q")
    taper = act.length("R") if "R" in words else 0.0
    if height is None or first is None or taper is None:
        return "P, Q or R is not known"
    if memory.springs is None or memory.chamfer is None:
        return "no block before it says how many finishing passes it has"
    return Thread(
        end=end,
        taper=taper,
        height=height,
        first=first,
        least=memory.least or 0.0,
        finish=memory.finish or 0.0,
        springs=max(memory.springs, 1),
        chamfer=memory.chamfer * (act.control.feed or 0.0),
    )


def _one_block(act: Acting, words: Words, end: Point) -> Thread | str:
    """Least depth, finishing allowance and spring passes are set in the control: they are left out, and named."""
    height, first = act.length("K"), counted(act, words, "D")
    taper = act.length("I") if "I" in words else 0.0
    if height is None or first is None or taper is None:
        return "K, D or I is not known"
    if (words.value("P") or 1) not in (1, 2):
        return f"way of coming in P{words.value('P'):g}"
    act.name_once("thread", "G76", "the control sets spring passes and least depth, lengths are without them")
    return Thread(end=end, taper=taper, height=abs(height), first=first)
