"""Calls: how they are told in a block, which program they mean, M98, M198 and M97.

A number is read every way a control may read it (``P51002`` is O51002 once, or O1002 five times); the one in hand is
taken. A call that cannot be followed is named, and after it no axis' place and no common variable is known: the rest
of what is in force is taken to be as it was.
"""

from dataclasses import dataclass

from tracker.machining.course import M97, M98, Arguments, Course, Frame, Modal
from tracker.machining.program import Span
from tracker.machining.said import Said
from tracker.machining.texts import Text
from tracker.machining.watch import Block
from tracker.nc.codes import code_of

CALL_G = frozenset({"65", "66", "66.1"})
CALL_M = frozenset({"96", "97", "98", "99", "198"})
DEEPEST = 1000
_AXES = frozenset("XYZABCUVW")
_WAYS = frozenset("XYZIJR")
_MOST_DIGITS = 9


@dataclass(frozen=True, slots=True)
class Call:
    """A call in a block: its word, and the words that belong to it."""

    word: str
    said: tuple[Said, ...]

    def of(self, letter: str) -> Said | None:
        """The last of its words with a letter."""
        return next((item for item in reversed(self.said) if item.letter == letter), None)

    @property
    def text(self) -> str:
        """``M98 P1002``, as it is named."""
        named = self.of("P")
        return f"{self.word} {named.word.text}" if named else self.word


def split(said: tuple[Said, ...], motion: str | None) -> tuple[tuple[Said, ...], Call | None]:
    """What of a block is to act, and its call."""
    for index, item in enumerate(said):
        if item.letter == "G" and code_of(item.word.number) in CALL_G:
            return said[:index], Call("G" + code_of(item.word.number), said[index + 1 :])
    found = next((item for item in said if item.letter == "M" and code_of(item.word.number) in CALL_M), None)
    if found is None:
        return said, None
    letters = {item.letter for item in said}
    codes = {code_of(item.word.number) for item in said if item.letter == "G"}
    own = {"P", "L"}
    if "L" not in letters and not letters & _WAYS:
        own.add("K")
    if not codes & {"43", "44", "43.1"}:
        own.add("H")
    if not (letters & _AXES and (motion or "80") not in ("0", "1", "2", "3", "80")):
        own.add("Q")
    rest = tuple(item for item in said if item is not found and item.letter not in own)
    return rest, Call("M" + code_of(found.word.number), tuple(item for item in said if item.letter in own))


def times_of(course: Course, block: Block, call: Call) -> int:
    """How often a call is to run what it calls."""
    said = call.of("L") or call.of("K")
    if said is None:
        return 1
    if said.value is None or said.value != int(said.value) or said.value < 0:
        course.say(block, f"{call.text} {said.word.text}", "how often is not known, run once")
        return 1
    return int(said.value)


def digits_of(call: Call) -> str:
    """The P of a call as whole digits, or nothing."""
    named = call.of("P")
    if named is None or named.value is None:
        return ""
    digits = code_of(named.word.number).lstrip("0") or "0"
    return digits if digits.isdigit() and len(digits) <= _MOST_DIGITS else ""


def not_followed(
    course: Course, block: Block, text: str, why: str = "", *, locals_too: bool, where: str = ""
) -> None:
    """Name a call that is not followed; what it may have done is not known from here on."""
    course.say(block, text, why, where=where)
    course.unfollowed(locals_too=locals_too)


def find(course: Course, number: int) -> tuple[Text, Span] | None:
    """A program in hand: in the text being run, in the main text, in a file of its own."""
    for text in (course.frames[-1].text, course.main):
        span = text.by_number.get(number)
        if span is not None:
            return text, span
    text_of_own = course.file(number)
    if text_of_own is None:
        return None
    return text_of_own, text_of_own.by_number.get(number) or text_of_own.main


def program(course: Course, block: Block, call: Call) -> None:
    """M98 and M198."""
    digits = digits_of(call)
    entry = call.of("H") or call.of("Q")
    if not digits or entry is not None:
        text = f"{call.text} {entry.word.text}" if entry else call.text
        why = "is entered at a line number" if entry else "which program is not known"
        not_followed(course, block, text, why, locals_too=True)
        return
    readings = [(int(digits), times_of(course, block, call))]
    if len(digits) > 4 and int(digits[-4:]) and call.of("L") is None:
        readings.append((int(digits[-4:]), int(digits[:-4])))
    known = [one for one in readings if one[0] in course.setting.resident or find(course, one[0]) is not None]
    if len(known) > 1:
        why = f"may be O{readings[0][0]} once or O{readings[1][0]} {readings[1][1]} times, and both are there"
        not_followed(course, block, call.text, why, locals_too=True)
        return
    number, times = (known or readings)[0]
    if times and (len(readings) == 1 or known):
        course.event(block, "call", str(number), str(times))
    run_program(course, block, call.text, number, times, kind=M98)


def run_program(
    course: Course,
    block: Block,
    text: str,
    number: int,
    times: int,
    *,
    kind: str,
    arguments: Arguments | None = None,
    modal: Modal | None = None,
    where: str = "",
) -> None:
    """Begin to run a program, if it is in hand and may be followed; ``where`` is where the call stands, if not here."""
    if times < 1:
        return
    place = None if number in course.setting.resident else find(course, number)
    depth = course.frames[-1].depth + 1
    why = ""
    if number in course.setting.resident:
        why = f"O{number} lives in the control"
    elif place is not None and place[0].verbatim:
        why = f"O{number} is not in word-address form"
    elif place is not None:
        why = too_deep(course)
    if place is None or why:
        not_followed(course, block, text, why, locals_too=kind == M98, where=where)
        return
    body, span = place
    course.push(
        Frame(
            text=body,
            span=span,
            kind=kind,
            depth=depth,
            program=number,
            first=span.first,
            end=span.end,
            at=span.first,
            left=times,
            arguments=arguments,
            modal=modal,
        )
    )


def too_deep(course: Course) -> str:
    """Why one more call is not followed, or nothing."""
    deepest = min(course.setting.most_calls, DEEPEST)
    return "" if course.frames[-1].depth < deepest else f"calls more than {deepest} deep"


def local(course: Course, block: Block, call: Call) -> None:
    """M97: lines of the same program, from an N on."""
    digits, frame = digits_of(call), course.frames[-1]
    lines = course.labelled(frame, digits) if digits else []
    times = times_of(course, block, call)
    if times < 1:
        return
    if not digits:
        why = "which line is not known"
    elif len(lines) != 1:
        why = f"N{digits} stands more than once" if lines else f"no N{digits}"
    else:
        why = too_deep(course)
    if why:
        not_followed(course, block, call.text, why, locals_too=True)
        return
    course.push(
        Frame(
            text=frame.text,
            span=frame.span,
            kind=M97,
            depth=frame.depth + 1,
            program=frame.program,
            first=lines[0],
            end=frame.end,
            at=lines[0],
            left=times,
        )
    )
