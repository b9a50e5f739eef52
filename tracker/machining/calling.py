"""Calls of other programs: M98, M97, M198, M96, G65, G66, G66.1, G67, and the way back by M99.

A number is read every way a control may read it (``P51002`` is O51002 once, or O1002 five times); the one in hand is
taken. A call that cannot be followed is named, and after it no axis' place and no common variable is known: the rest
of what is in force is taken to be as it was.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from tracker.machining.course import M97, M98, MACRO_CALL, MAIN, Arguments, Course, Frame, Modal
from tracker.machining.lines import BARE, said_of
from tracker.machining.macro_arguments import arguments_of
from tracker.machining.program import Span
from tracker.machining.said import Said
from tracker.machining.texts import Text
from tracker.machining.watch import Block
from tracker.nc.codes import code_of

CALL_G = frozenset({"65", "66", "66.1"})
CALL_M = frozenset({"96", "97", "98", "99", "198"})
DEEPEST = 1000
_AXES = frozenset("XYZABCUVW")
_NO_MOTION = frozenset({"4", "10", "50", "52", "92"})
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


def follow(course: Course, block: Block, call: Call) -> None:
    """Go where a call leads."""
    if call.word == "M99":
        back(course, block, call)
    elif call.word == "M97":
        _local(course, block, call)
    elif call.word == "M96":
        course.say(block, call.text, "depends on a signal")
    elif call.word in ("M98", "M198"):
        _program(course, block, call)
    elif call.word == "G65":
        _macro(course, block, call)
    else:
        _modal(course, block, call)


def times_of(course: Course, block: Block, call: Call) -> int:
    """How often a call is to run what it calls."""
    said = call.of("L") or call.of("K")
    if said is None:
        return 1
    if said.value is None or said.value != int(said.value) or said.value < 0:
        course.say(block, f"{call.text} {said.word.text}", "how often is not known, run once")
        return 1
    return int(said.value)


def _digits(call: Call) -> str:
    """The P of a call as whole digits, or nothing."""
    named = call.of("P")
    if named is None or named.value is None:
        return ""
    digits = code_of(named.word.number).lstrip("0") or "0"
    return digits if digits.isdigit() and len(digits) <= _MOST_DIGITS else ""


def _not_followed(course: Course, block: Block, text: str, why: str = "", *, locals_too: bool) -> None:
    course.say(block, text, why)
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


def _program(course: Course, block: Block, call: Call) -> None:
    """M98 and M198."""
    digits = _digits(call)
    entry = call.of("H") or call.of("Q")
    if not digits or entry is not None:
        text = f"{call.text} {entry.word.text}" if entry else call.text
        why = "is entered at a line number" if entry else "which program is not known"
        _not_followed(course, block, text, why, locals_too=True)
        return
    readings = [(int(digits), times_of(course, block, call))]
    if len(digits) > 4 and int(digits[-4:]) and call.of("L") is None:
        readings.append((int(digits[-4:]), int(digits[:-4])))
    known = [one for one in readings if one[0] in course.setting.resident or find(course, one[0]) is not None]
    if len(known) > 1:
        why = f"may be O{readings[0][0]} once or O{readings[1][0]} {readings[1][1]} times, and both are there"
        _not_followed(course, block, call.text, why, locals_too=True)
        return
    number, times = (known or readings)[0]
    if len(readings) == 1 or known:
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
) -> None:
    """Begin to run a program, if it is in hand and may be followed."""
    locals_too = kind == M98
    if times < 1:
        return
    if number in course.setting.resident:
        _not_followed(course, block, text, f"O{number} lives in the control", locals_too=locals_too)
        return
    place = find(course, number)
    if place is None:
        _not_followed(course, block, text, locals_too=locals_too)
        return
    body, span = place
    depth = course.frames[-1].depth + 1
    if body.verbatim:
        _not_followed(course, block, text, f"O{number} is not in word-address form", locals_too=locals_too)
    elif depth > min(course.setting.most_calls, DEEPEST):
        why = f"calls more than {course.setting.most_calls} deep"
        _not_followed(course, block, text, why, locals_too=locals_too)
    else:
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


def _local(course: Course, block: Block, call: Call) -> None:
    """M97: lines of the same program, from an N on."""
    digits, frame = _digits(call), course.frames[-1]
    lines = course.labelled(frame, digits) if digits else []
    times = times_of(course, block, call)
    if times < 1:
        return
    why = ""
    if len(lines) != 1:
        why = (
            f"N{digits} stands more than once"
            if lines
            else f"no N{digits}"
            if digits
            else "which line is not known"
        )
    elif frame.depth >= min(course.setting.most_calls, DEEPEST):
        why = f"calls more than {course.setting.most_calls} deep"
    if why:
        _not_followed(course, block, call.text, why, locals_too=True)
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


def _arguments(course: Course, block: Block, call: Call) -> Arguments:
    said = call.said
    if course.setting.decimal is None and any(said_of(item.word)[1] & BARE for item in said):
        course.by_rule(said, block)
    values, unknown = arguments_of(said, decimal=course.setting.decimal, units=course.control.units)
    for letter in unknown.values():
        course.say(block, f"{letter} of {call.text}", "which value it gives is not known")
    return Arguments(values, frozenset(unknown))


def _macro(course: Course, block: Block, call: Call) -> None:
    """G65."""
    digits = _digits(call)
    if not digits:
        _not_followed(course, block, call.text, "which program is not known", locals_too=False)
        return
    times = times_of(course, block, Call(call.word, tuple(item for item in call.said if item.letter in "PL")))
    course.event(block, "call", digits, str(times))
    arguments = _arguments(course, block, call)
    run_program(course, block, call.text, int(digits), times, kind=MACRO_CALL, arguments=arguments)


def _modal(course: Course, block: Block, call: Call) -> None:
    """G66 and G66.1: what is called from now on."""
    digits, every = _digits(call), call.word == "G66.1"
    times = times_of(course, block, Call(call.word, tuple(item for item in call.said if item.letter in "PL")))
    if every or not digits:
        course.say(block, call.text, "every block is an argument" if every else "which program is not known")
    course.modal = Modal(
        text=f"{call.text} at {course.where(block)}",
        number=int(digits) if digits and not every else None,
        arguments=_arguments(course, block, call),
        times=times,
        every_block=every,
    )


def call_modal(course: Course, block: Block, said: Sequence[Said]) -> None:
    """Call the modal macro behind a block that moves."""
    modal = course.modal
    if modal is None or not moves(said):
        return
    if modal.number is None:
        course.unfollowed(locals_too=False)
        return
    course.event(block, "call", str(modal.number), str(modal.times))
    before = len(course.frames)
    text = modal.text.partition(" at ")[0]
    run_program(
        course,
        block,
        text,
        modal.number,
        modal.times,
        kind=MACRO_CALL,
        arguments=modal.arguments,
        modal=modal,
    )
    if len(course.frames) > before:
        course.modal = None


def moves(said: Sequence[Said]) -> bool:
    """Whether a block has axis words that are meant as a motion."""
    codes = {code_of(item.word.number) for item in said if item.letter == "G"}
    return any(item.letter in _AXES for item in said) and not codes & _NO_MOTION


def back(course: Course, block: Block, call: Call) -> None:
    """M99: back to the caller, with P to one of its lines; in the main program the end."""
    frame = course.frames[-1]
    named = call.of("P")
    if frame.kind == MAIN:
        lines = course.labelled(frame, _digits(call)) if _digits(call) else []
        ahead = [line for line in lines if line >= frame.at]
        if named is not None and len(lines) != 1:
            course.say(block, call.text, "which line is not known")
        if ahead and len(lines) == 1:
            frame.at = ahead[0]
            return
        course.finish(block, "M99")
        return
    where = course.where(block)
    course.event(block, "return", "" if frame.program is None else str(frame.program))
    if named is None:
        course.pop()
        return
    frame.left = 1
    course.pop()
    caller = course.frames[-1]
    lines = course.labelled(caller, _digits(call)) if _digits(call) else []
    if len(lines) == 1:
        caller.at = lines[0]
    else:
        course.act.not_followed(block, f"{call.text} at {where}: which line of the caller is not known")


def ran_off(course: Course, block: Block) -> None:
    """A program has no more lines."""
    frame = course.frames[-1]
    if frame.kind == MAIN:
        course.finish(block, "")
        return
    name = "a program" if frame.program is None else f"O{frame.program}"
    course.say(block, "end without M99", name)
    course.event(block, "return", "" if frame.program is None else str(frame.program))
    course.pop()
