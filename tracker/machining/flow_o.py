"""O words of RS274/NGC with a keyword: sub, call, return, if, while, do, repeat, break, continue.

LinuxCNC documentation, "O Codes": arguments of a call are #1 to #30 of the sub, the others of these are 0 there; a
body runs from the line after its opening to the line before its end. A condition that cannot be told is named and
counts as not met; a repeat whose number cannot be told is not run.
"""

from collections.abc import Callable

from tracker.machining import calling
from tracker.machining.course import M98, O_CALL, Arguments, Course, Frame
from tracker.machining.flow import met
from tracker.machining.jumps import OLabel, label_of
from tracker.machining.lines import Line
from tracker.machining.program import Span
from tracker.machining.reckon import figure
from tracker.machining.texts import Text
from tracker.machining.variables import NGC_LOCALS, NotKnown
from tracker.machining.watch import Block


def step(course: Course, frame: Frame, index: int, line: Line, block: Block) -> None:
    """Run such a line; ``frame.at`` stands on the line after it."""
    name, keyword = line.words[0].number, line.words[1].letter
    given = tuple(word.number for word in line.words[2:] if word.letter == "[")
    if not (name.isdigit() or name.startswith("<")):
        try:
            value = figure(name, course.variables)
        except NotKnown as unknown:
            course.say(block, f"O word with {keyword}", str(unknown))
            return
        course.decide(name)
        name = str(int(value)) if value is not None and value.is_integer() and 0 <= value < 1e9 else "0"
    label = label_of(name)
    known = course.o_labels(frame.text).get(label) or OLabel()
    if keyword == "CALL":
        _call(course, frame, label, given, block)
    elif keyword in ("ENDSUB", "RETURN"):
        _return(course, frame, given, block)
    else:
        _STEPS[keyword](_Here(course, frame, index, block, label, known, given))


class _Here:
    """One such line as it is run."""

    def __init__(
        self,
        course: Course,
        frame: Frame,
        index: int,
        block: Block,
        label: str,
        known: OLabel,
        given: tuple[str, ...],
    ) -> None:
        self.course, self.frame, self.index, self.block = course, frame, index, block
        self.label, self.known, self.given = label, known, given

    def after(self, line: int | None, keyword: str) -> None:
        """Go on behind a line; name it if there is none."""
        if line is None or line >= self.frame.end:
            self.course.say(self.block, f"O{self.label} {keyword.lower()}", "its end is missing")
        else:
            self.frame.jump(line + 1, self.course.variables)

    def round(self, begin: int) -> None:
        """Go back to a line above."""
        what = f"O{self.label} loop"
        self.course.go_round(self.frame, self.index, begin, self.block, what)

    def met(self, keyword: str) -> bool:
        """Whether the condition of the line is met."""
        condition = self.given[0] if self.given else ""
        return met(self.course, self.block, f"O{self.label} {keyword.lower()}", condition)

    @property
    def end(self) -> int | None:
        """The line that ends what this one opens."""
        return self.known.close.get(self.index)


def _sub(here: _Here) -> None:
    here.after(here.end, "sub")


def _if(here: _Here) -> None:
    """IF, and each ELSEIF that is reached because nothing before it was met."""
    if here.met("if"):
        return
    branch = here.known.branch_after(here.index)
    while branch is not None and branch[1] == "ELSEIF":
        here.course.count += 1
        line, block = here.frame.text.ready(branch[0], here.frame.program, here.frame.depth)
        given = tuple(word.number for word in line.words[2:] if word.letter == "[")
        if _Here(here.course, here.frame, branch[0], block, here.label, here.known, given).met("elseif"):
            break
        branch = here.known.branch_after(branch[0])
    here.after(branch[0] if branch else None, "if")


def _otherwise(here: _Here) -> None:
    """ELSEIF and ELSE that are come upon: what stood before was run."""
    here.after(here.known.endif_after(here.index), "else")


def _while(here: _Here) -> None:
    begin = here.known.open.get(here.index)
    holds = here.met("while")
    if begin is not None:
        if holds:
            here.round(begin)
    elif not holds:
        here.after(here.end, "while")


def _end_while(here: _Here) -> None:
    begin = here.known.open.get(here.index)
    if begin is not None:
        here.round(begin)


def _repeat(here: _Here) -> None:
    try:
        value = figure(here.given[0] if here.given else "", here.course.variables) or 0.0
    except NotKnown as unknown:
        here.course.say(here.block, f"O{here.label} repeat", str(unknown))
        value = 0.0
    here.course.decide(*here.given)
    here.frame.counts[here.label] = int(value)
    if value < 1:
        here.after(here.end, "repeat")


def _end_repeat(here: _Here) -> None:
    begin = here.known.open.get(here.index)
    left = here.frame.counts.get(here.label, 1) - 1
    here.frame.counts[here.label] = left
    if left > 0 and begin is not None:
        here.frame.at = begin + 1


def _break(here: _Here) -> None:
    here.after(here.known.end_of_loop(here.index), "break")


def _continue(here: _Here) -> None:
    end = here.known.end_of_loop(here.index)
    here.after(None if end is None else end - 1, "continue")


def _nothing(_here: _Here) -> None:
    pass


_STEPS: dict[str, Callable[[_Here], None]] = {
    "SUB": _sub,
    "IF": _if,
    "ELSEIF": _otherwise,
    "ELSE": _otherwise,
    "ENDIF": _nothing,
    "WHILE": _while,
    "ENDWHILE": _end_while,
    "DO": _nothing,
    "REPEAT": _repeat,
    "ENDREPEAT": _end_repeat,
    "BREAK": _break,
    "CONTINUE": _continue,
}


def _call(course: Course, frame: Frame, label: str, given: tuple[str, ...], block: Block) -> None:
    """Run a sub: of this text, or of a file of its own."""
    text = f"O{label} call"
    arguments = _arguments(course, given, block, text)
    if label.isdigit():
        course.event(block, "call", label, "1")
    number = int(label) if label.isdigit() and len(label) <= 9 else None
    body = _body(course, frame, label, number)
    why = ""
    if number is not None and number in course.setting.resident:
        why = f"O{label} lives in the control"
    elif body is None and number is not None and calling.find(course, number) is not None:
        calling.run_program(course, block, text, number, 1, kind=M98)
        return
    else:
        why = calling.too_deep(course)
    if body is None or why:
        course.say(block, text, why)
        course.unfollowed(locals_too=False)
        return
    where, first, end = body
    course.push(
        Frame(
            text=where,
            span=Span(number=number, first=first, end=end),
            kind=O_CALL,
            depth=frame.depth + 1,
            program=number,
            first=first,
            end=end,
            at=first,
            arguments=arguments,
        )
    )


def _body(course: Course, frame: Frame, label: str, number: int | None) -> tuple[Text, int, int] | None:
    """Where a sub stands: its text, the line after its opening, the line after its end."""
    texts = [frame.text, course.main]
    own = course.file(number) if number is not None else None
    for text in texts if own is None else [*texts, own]:
        known = course.o_labels(text).get(label)
        if known is not None and known.sub is not None:
            return text, known.sub + 1, known.close.get(known.sub, text.count - 1) + 1
    return None


def _arguments(course: Course, given: tuple[str, ...], block: Block, text: str) -> Arguments:
    values: dict[int, float | None] = {}
    unknown = set()
    for number, expression in enumerate(given[:NGC_LOCALS], start=1):
        try:
            values[number] = figure(expression, course.variables) or 0.0
        except NotKnown as why:
            unknown.add(number)
            course.say(block, f"{text} {expression}", str(why))
    return Arguments(values, frozenset(unknown), ngc=True)


def _return(course: Course, frame: Frame, given: tuple[str, ...], block: Block) -> None:
    """Back to the caller, with a value for it."""
    if frame.kind != O_CALL:
        return
    value, known = 0.0, True
    if given:
        try:
            value = figure(given[0], course.variables) or 0.0
        except NotKnown:
            known = False
    course.event(block, "return", "" if frame.program is None else str(frame.program))
    course.pop()
    course.variables.write_name("_value", value, known=known)
    course.variables.write_name("_value_returned", float(bool(given)))
