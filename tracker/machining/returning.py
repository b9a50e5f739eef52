"""The way back from a call: M99, and a program that has no more lines."""

from tracker.machining.calling import Call, digits_of
from tracker.machining.course import MAIN, Course
from tracker.machining.watch import Block


def back(course: Course, block: Block, call: Call) -> None:
    """M99: back to the caller, with P to one of its lines; in the main program the end."""
    frame = course.frames[-1]
    named = call.of("P")
    if frame.kind == MAIN:
        lines = course.labelled(frame, digits_of(call)) if digits_of(call) else []
        ahead = [line for line in lines if line >= frame.at]
        if named is not None and len(lines) != 1:
            course.say(block, call.text, "which line is not known")
        if ahead and len(lines) == 1:
            frame.jump(ahead[0], course.variables)
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
    lines = course.labelled(caller, digits_of(call)) if digits_of(call) else []
    if len(lines) == 1:
        caller.jump(lines[0], course.variables)
    else:
        course.act.not_followed(block, f"{call.text} at {where}: which line of the caller is not known")


def ran_off(course: Course, block: Block) -> None:
    """A program has no more lines."""
    frame = course.frames[-1]
    if frame.kind == MAIN:
        course.finish(block, "")
        return
    name = "a program" if frame.program is None else f"O{frame.program}"
    course.say(block, f"{name} ends without M99")
    course.event(block, "return", "" if frame.program is None else str(frame.program))
    course.pop()
