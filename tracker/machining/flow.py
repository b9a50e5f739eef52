"""Keywords of macro-type controls: IF, GOTO, THEN, ELSE, ENDIF, WHILE, DO, END.

A condition that cannot be told is named and counts as not met: what it would have run is left out, so that totals are
"at least". GOTO looks for its N from its own line on, then from the top of the program (common practice, no source).
"""

from bisect import bisect_right

from tracker.machining.course import Course, Frame
from tracker.machining.lines import OWN_KEYWORDS, Line
from tracker.machining.perform import perform
from tracker.machining.reckon import figure, truth
from tracker.machining.variables import NotKnown
from tracker.machining.watch import Block
from tracker.nc.item import Word


def step(course: Course, frame: Frame, index: int, line: Line, block: Block, words: tuple[Word, ...]) -> None:
    """Run a line with keywords; ``frame.at`` stands on the line after it."""
    if words[0].letter in ("ELSE", "ENDIF"):
        end = course.pairs(frame).end.get(index)
        if words[0].letter == "ELSE" and end is not None:
            frame.jump(end + 1, course.variables)
        return
    if words[0].letter == "END" and len(words) == 1:
        _end(course, frame, index, words[0], block)
        return
    chosen = _chosen(course, frame, index, words, block)
    rest = tuple(word for word in chosen if word.letter not in OWN_KEYWORDS)
    if rest:
        perform(course, line, block, rest)
    for word in chosen:
        if word.letter == "GOTO" and course.frames and course.frames[-1] is frame:
            _go_to(course, frame, index, word.number, block)
        elif word.letter == "END" and course.frames and course.frames[-1] is frame:
            _end(course, frame, index, word, block)


def _end(course: Course, frame: Frame, index: int, word: Word, block: Block) -> None:
    """Back to the DO of an END."""
    begin = course.pairs(frame).begin.get(index)
    if begin is None:
        course.say(block, word.text, "without its DO")
    else:
        course.go_round(frame, index, begin, block, word.text)


def met(course: Course, block: Block, keyword: str, condition: str) -> bool:
    """Whether a condition is met; one that cannot be told is named, and is not."""
    try:
        holds = truth(condition, course.variables)
    except NotKnown as unknown:
        course.say(block, keyword, str(unknown))
        return False
    course.decide(condition)
    return holds


def _chosen(
    course: Course, frame: Frame, index: int, words: tuple[Word, ...], block: Block
) -> tuple[Word, ...]:
    """The words that are to be done, with the GOTO or END among them."""
    for at, word in enumerate(words):
        if word.letter == "WHILE":
            if met(course, block, "WHILE", word.number):
                return words[:at]
            end = course.pairs(frame).end.get(index)
            if end is None:
                course.say(block, "WHILE", "without its END")
            else:
                frame.jump(end + 1, course.variables)
            return words[:at]
        if word.letter == "IF":
            return words[:at] + _branch(course, frame, index, words[at:], block)
    return words


def _branch(
    course: Course, frame: Frame, index: int, words: tuple[Word, ...], block: Block
) -> tuple[Word, ...]:
    """What an IF chooses of the words behind it, or of the lines below it."""
    holds = met(course, block, "IF", words[0].number)
    rest = words[1:]
    if rest and rest[0].letter == "THEN":
        rest = rest[1:]
    if not rest:
        if not holds:
            pairs = course.pairs(frame)
            other, end = pairs.other.get(index), pairs.end.get(index)
            if end is None:
                course.say(block, "IF", "without its ENDIF")
            else:
                frame.jump((other if other is not None else end) + 1, course.variables)
        return ()
    otherwise = next((at for at, word in enumerate(rest) if word.letter == "ELSE"), len(rest))
    return rest[:otherwise] if holds else rest[otherwise + 1 :]


def _go_to(course: Course, frame: Frame, index: int, text: str, block: Block) -> None:
    try:
        value = figure(text, course.variables)
    except NotKnown as unknown:
        course.say(block, "GOTO", str(unknown))
        return
    course.decide(text)
    label = str(int(value)) if value is not None and value.is_integer() and 0 <= value < 1e15 else ""
    lines = course.labelled(frame, label) if label else []
    if lines:
        ahead = bisect_right(lines, index)
        if ahead < len(lines):
            frame.jump(lines[ahead], course.variables)
        else:
            course.go_round(frame, index, lines[0], block, f"GOTO{label}")
    else:
        course.say(block, f"GOTO{label or text}", f"no N{label}" if label else "no line number")
