"""Calls of macros: G65 once, G66 behind every block that moves, until G67.

One G66 in another is named: they nest on macro-type controls (from memory), the moves of the second call the first.
A macro not in hand is named; after it no axis' place and no common variable is known. G66.1, which makes every block
an argument, is named and its blocks do not act.
"""

from collections.abc import Sequence

from tracker.machining.calling import Call, digits_of, not_followed, run_program, times_of
from tracker.machining.course import MACRO_CALL, Arguments, Course, Modal
from tracker.machining.lines import BARE, said_of
from tracker.machining.macro_arguments import arguments_of
from tracker.machining.said import Said
from tracker.machining.watch import Block
from tracker.nc.codes import code_of

_AXES = frozenset("XYZABCUVW")
_IN_ANOTHER = "another macro is called behind every move already, and by the moves of this one"
_NO_MOTION = frozenset({"4", "10", "50", "52", "92"})


def once(course: Course, block: Block, call: Call) -> None:
    """G65."""
    digits = digits_of(call)
    if not digits:
        not_followed(course, block, call.text, "which program is not known", locals_too=False)
        return
    times = times_of(course, block, Call(call.word, tuple(item for item in call.said if item.letter in "PL")))
    if times:
        course.event(block, "call", digits, str(times))
    arguments = _arguments(course, block, call)
    run_program(course, block, call.text, int(digits), times, kind=MACRO_CALL, arguments=arguments)


def from_here(course: Course, block: Block, call: Call) -> None:
    """G66 and G66.1: what is called from now on."""
    digits, every = digits_of(call), call.word == "G66.1"
    times = times_of(course, block, Call(call.word, tuple(item for item in call.said if item.letter in "PL")))
    why = "every block is an argument" if every else "" if digits else "which program is not known"
    why = why or (_IN_ANOTHER if course.modal else "")
    if why:
        course.say(block, call.text, why)
    course.modal = Modal(
        text=f"{call.text} at {course.where(block)}",
        number=None if why else int(digits),
        arguments=_arguments(course, block, call),
        times=times,
        every_block=every,
        before=course.modal,
    )


def behind(course: Course, block: Block, said: Sequence[Said]) -> None:
    """Call the modal macro behind a block that moves."""
    modal = course.modal
    if modal is None or not moves(said):
        return
    if modal.number is None:
        course.unfollowed(locals_too=False)
        return
    course.event(block, "call", str(modal.number), str(modal.times))
    before = len(course.frames)
    text, _, where = modal.text.partition(" at ")
    run_program(
        course,
        block,
        text,
        modal.number,
        modal.times,
        kind=MACRO_CALL,
        arguments=modal.arguments,
        modal=modal,
        where=where,
    )
    if len(course.frames) > before:
        course.modal = None


def moves(said: Sequence[Said]) -> bool:
    """Whether a block has axis words that are meant as a motion."""
    codes = {code_of(item.word.number) for item in said if item.letter == "G"}
    return any(item.letter in _AXES for item in said) and not codes & _NO_MOTION


def _arguments(course: Course, block: Block, call: Call) -> Arguments:
    said = call.said
    if course.setting.decimal is None and any(said_of(item.word)[1] & BARE for item in said):
        course.by_rule(said, block)
    values, unknown = arguments_of(said, decimal=course.setting.decimal, units=course.control.units)
    for text in filter(None, unknown.values()):
        course.say(block, f"{text} of {call.text}", "which variable or value it gives is not known")
    return Arguments(values, frozenset(unknown))
