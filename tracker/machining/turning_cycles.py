"""G70 to G73: finishing, roughing and pattern repeating along the contour from P to Q.

Common practice of turning controls, from memory. In two blocks the first says depth and retract (``G71 U2. R0.5``),
the second the contour and the stock (``G71 P140 Q230 U0.5 W0.1 F0.25``); in one block D is the depth. F and S between P
and Q count for G70 alone. The tool ends where it began. That the program goes on behind
the contour of G71 to G73 is the business of what runs it.
"""

from collections.abc import Iterable

from tracker.machining.acting import Acting
from tracker.machining.arcs import MISMATCH
from tracker.machining.block_words import Words
from tracker.machining.turning_contour import Contour, read
from tracker.machining.turning_out import hand_out
from tracker.machining.turning_rough import Rough, contour_pass, passes, pattern, roughing
from tracker.machining.turning_shape import Leg, Point
from tracker.machining.turning_words import counted, standing


def contour_cycle(act: Acting, words: Words, code: str) -> None:
    """One block of G70, G71, G72 or G73."""
    if "P" not in words and "Q" not in words:
        _first_block(act, words, code)
        return
    start = standing(act)
    contour = _contour(act, words, code, start)
    if contour is None or start is None:
        return
    if code == "70":
        _finish(act, words, contour, start)
        return
    legs = _pattern(act, words, contour, start) if code == "73" else _rough(act, words, contour, start, code)
    if isinstance(legs, str):
        act.name(f"G{code}", f"{legs}; counted once along its contour")
        legs = _plain(contour, start, _stock(act))
    hand_out(act, "G" + code, legs)


def _first_block(act: Acting, words: Words, code: str) -> None:
    """The block that says depth and retract, or shift and number."""
    memory = act.turning
    if code == "73":
        i, k = act.length("U"), act.length("W")
        memory.away = None if i is None and k is None else (k or 0.0, (i or 0.0))
        memory.times = words.value("R")
    elif code in ("71", "72"):
        depth = act.length("U" if code == "71" else "W")
        memory.depth = abs(depth) if depth is not None else memory.depth
        retract = act.length("R")
        memory.retract = abs(retract) if retract is not None else memory.retract
    else:
        act.name("G70", "no P and Q")


def _contour(act: Acting, words: Words, code: str, start: Point | None) -> Contour | None:
    """The contour of the cycle; None, and named, if it cannot be told."""
    first, last = (_label(words, letter) for letter in "PQ")
    lines = None if first is None or last is None else act.contour(first, last)
    if lines is None:
        named = f"P{first or '?'} to Q{last or '?'}"
        act.name(f"G{code}", f"blocks {named} missing, twice there, not in order or with jumps")
        return None
    if start is None:
        act.name(f"G{code}", "where X Z stand is not known")
        return None
    factor, control = act.factor, act.control
    tolerance = MISMATCH.get(control.base or "", MISMATCH["mm"])
    found = read(lines, start, control.motion, lambda value: value * factor, tolerance)
    if isinstance(found, str):
        act.name(f"G{code}", found)
        return None
    return found


def _label(words: Words, letter: str) -> str | None:
    """A block number as it stands in an N word, without zeros before it."""
    word = words.word(letter)
    if word is None:
        return None
    number = word.word.number.removeprefix("=").removesuffix(".")
    return number.lstrip("0") or "0" if number.isdigit() else None


def _finish(act: Acting, words: Words, contour: Contour, start: Point) -> None:
    """G70; F and S of the contour stay in force, as they do of any block."""
    if any(letter in words for letter in "UW"):
        act.name("G70", "U or W beside it")
    hand_out(act, "G70", contour_pass(contour, start))


def _stock(act: Acting) -> Point:
    return act.length("W") or 0.0, (act.length("U") or 0.0) / 2


def _plain(contour: Contour, start: Point, stock: Point) -> Iterable[Leg]:
    """Once along the contour with its stock, at the feed of the cycle."""
    for leg in contour_pass(contour, start, stock):
        yield Leg(start=leg.start, end=leg.end, centre=leg.centre, clockwise=leg.clockwise, rapid=leg.rapid)


def _rough(act: Acting, words: Words, contour: Contour, start: Point, code: str) -> Iterable[Leg] | str:
    memory = act.turning
    odd = _unread(words, "UWD")
    if odd is not None:
        return odd
    if words.any_of("IK"):
        return "I and K ask for a pass that is not followed"
    retract = memory.retract
    depth = memory.depth
    if "D" in words:
        depth = counted(act, words, "D")
    if depth is None:
        return "no depth of cut known"
    if retract is None:
        act.name_once("retract", f"G{code}", "the control sets its retract, rapids are without it")
    asked = Rough(facing=code == "72", depth=abs(depth), retract=retract or 0.0, stock=_stock(act))
    found = passes(contour, start, asked)
    return found if isinstance(found, str) else roughing(contour, start, asked, *found)


def _pattern(act: Acting, words: Words, contour: Contour, start: Point) -> Iterable[Leg] | str:
    memory = act.turning
    away, times = memory.away, memory.times
    odd = _unread(words, "UWIKD")
    if odd is not None:
        return odd
    if "D" in words:
        i, k = act.length("I"), act.length("K")
        away = None if i is None and k is None else (k or 0.0, i or 0.0)
        times = words.value("D")
    if away is None or times is None:
        return "no shift or number of passes known"
    if not times.is_integer() or not 2 <= times <= MOST_TIMES:
        return "a number of passes that is not a whole one above 1"
    return pattern(contour, start, _stock(act), away, int(times))


MOST_TIMES = 1_000
"""More passes than this are a slip, and are not followed."""


def _unread(words: Words, letters: str) -> str | None:
    """A word whose figure cannot be told."""
    return next(
        (f"{letter} is not known" for letter in letters if letter in words and words.value(letter) is None),
        None,
    )
