"""Doing the words of one block: figures, what acts, then the call, the end or the contour that follows from it."""

import re

from tracker.machining import calling, macro_calls, returning
from tracker.machining.course import Course, Frame
from tracker.machining.lines import FLOW, FORMULA, Line
from tracker.machining.said import Said
from tracker.machining.watch import Block
from tracker.nc.codes import code_of
from tracker.nc.item import Word

_NOT_ACTING = frozenset({"N", "O"})
_ENDS = frozenset({"2", "30"})
_CONTOUR = frozenset({"71", "72", "73"})
_DATA_ENDS = re.compile(r"(?m)^[^(;\n]*?G[ \t]*+0*+11(?![0-9.])", re.IGNORECASE)
_ONE_SHOT = frozenset({"1", "2", "10", "11", "12", "13", "20"})


def perform(course: Course, line: Line, block: Block, words: tuple[Word, ...] | None = None) -> None:
    """Do a line, or these of its words."""
    said = course.figures(line, block, words)
    if line.holds & FLOW:
        said = tuple(item for item in said if _acts(item.letter))
    acting, call = calling.split(said, course.control.motion)
    if line.holds & FORMULA:
        course.decide(
            *(word.text for word in words or line.words if call is not None or word.letter in ("G", "M"))
        )
    if course.asks:
        acting = course.by_rule(acting, block)
    if course.modal is not None and course.modal.every_block and not _has(said, "67"):
        course.unfollowed(locals_too=False)
        return
    if _has(said, "67"):
        course.modal = course.modal.before if course.modal else None
        acting = tuple(item for item in acting if not (item.letter == "G" and item.word.number == "67"))
    course.do(block, acting)
    frame = course.frames[-1]
    if course.ending:
        course.finish(block, course.ending)
        return
    ends = next((item for item in said if item.letter == "M" and code_of(item.word.number) in _ENDS), None)
    if ends is not None and (call is None or call.word[0] == "M"):
        course.finish(block, "M" + code_of(ends.word.number))
    elif call is not None:
        _follow(course, block, call)
    else:
        _skip_what_was_used(course, frame, acting, block)
        if course.modal is not None:
            macro_calls.behind(course, block, acting)


def _follow(course: Course, block: Block, call: calling.Call) -> None:
    """Go where a call leads."""
    if call.word == "M99":
        returning.back(course, block, call)
    elif call.word == "M97":
        calling.local(course, block, call)
    elif call.word == "M96":
        course.say(block, call.text, "depends on a signal")
    elif call.word in ("M98", "M198"):
        calling.program(course, block, call)
    elif call.word == "G65":
        macro_calls.once(course, block, call)
    else:
        macro_calls.from_here(course, block, call)


def _acts(letter: str) -> bool:
    """Whether words of a letter act: no keywords, no N or O, no text in quotes."""
    return (len(letter) == 1 and letter.isalpha() and letter not in _NOT_ACTING) or letter[0] == ","


def _has(said: tuple[Said, ...], code: str) -> bool:
    return any(item.letter == "G" and code_of(item.word.number) == code for item in said)


def _skip_what_was_used(course: Course, frame: Frame, said: tuple[Said, ...], block: Block) -> None:
    """A contour that follows its roughing cycle has been cut by it; lines of data do not act."""
    codes = {code_of(item.word.number) for item in said if item.letter == "G"}
    by_letter = {item.letter: item for item in said}
    if course.control.lathe and codes & _CONTOUR and "P" in by_letter and "Q" in by_letter:
        lines = course.between(by_letter["P"].word.number, by_letter["Q"].word.number)
        if lines is not None and lines[0] >= frame.at:
            frame.jump(lines[1] + 1, course.variables)
    elif "10" in codes and "L" in by_letter and by_letter["L"].word.number not in _ONE_SHOT:
        end = next(frame.text.found(_DATA_ENDS, frame.at, frame.end), None)
        if end is not None:
            course.say(block, f"G10 {by_letter['L'].word.text}", "lines of data")
            _hand_out(course, frame, end)


def _hand_out(course: Course, frame: Frame, end: int) -> None:
    """Lines that are data: shown, not run."""
    while frame.at < end and course.count < course.setting.most_blocks:
        _, block = frame.text.ready(frame.at, frame.program, frame.depth)
        frame.at += 1
        course.count += 1
        for watcher in course.watchers:
            watcher.block(block, course.control)
        for watcher in course.watchers:
            watcher.acted(block, course.control)
