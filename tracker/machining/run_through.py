"""Running a program through as a control would, block by block.

Every line of the main program that is run, and of what it calls, is handed to those who watch: ``block`` before it
acts, its moves and events, ``acted``. Lines without anything on them are passed over. What stands after the end (M30,
M2, ``%``, the end of the main program) is not run. The order of blocks is decided in `flow`, `flow_o` and `calling`,
what the words of a block do in `perform` and `act`.
"""

from collections.abc import Callable, Sequence

from tracker.machining import flow, flow_o, returning
from tracker.machining.control import Control
from tracker.machining.course import MAIN, Course, Frame
from tracker.machining.lines import KEYWORDS, O_WORDS, OWN_KEYWORDS, SETS, WORDS, Line, LineReader
from tracker.machining.perform import perform
from tracker.machining.quick import Lane, RowLane, TallyLane, is_compiled
from tracker.machining.setting import Setting
from tracker.machining.tally import Tally
from tracker.machining.texts import NotThinError, Text, text_of
from tracker.machining.thin import Thin, thin, whole
from tracker.machining.watch import Block, RowWatcher, Watcher
from tracker.nc.block import O_KEYWORDS

_NOWHERE = Block(line=1, number=None, program=None, depth=0, skip=None, words=(), comments=(), text="")


def run(data: bytes, setting: Setting, watchers: Sequence[Watcher]) -> Control:
    """Run a program through and return what is in force at its end.

    A text that is not in word-address form gives one not-followed event and no block. Whatever the bytes, it ends:
    after `Setting.most_blocks` lines at the latest, and says so.
    """
    course, text = _begun(whole(data), setting, watchers, whole)
    _run(course, text, None)
    return course.control


def run_tally(data: Thin, setting: Setting, tally: Tally, read_called: Callable[[bytes], Thin]) -> Control:
    """The same for a tally alone: rows of plain motion lines go the quick lane, with the same sums.

    ``read_called`` says what is put aside of called programs.

    Raises:
        NotThinError: a line in a row is asked for; the program is to be run whole, for a new tally.
    """
    course, text = _begun(data, setting, (tally,), read_called)
    _run(course, text, TallyLane(course, tally))
    return course.control


def run_rows(data: bytes, setting: Setting, watcher: RowWatcher) -> Control:
    """The same for a watcher that takes rows of plain cutting moves in bulk.

    Raises:
        NotThinError: a line in a row is asked for; the program is to be run by `run`, for a new watcher.
    """
    read = _without_codes if is_compiled() else whole
    course, text = _begun(read(data), setting, (watcher,), read)
    _run(course, text, RowLane(course, watcher))
    return course.control


def _without_codes(data: bytes) -> Thin:
    return thin(data, coded=False)


def _begun(
    data: Thin, setting: Setting, watchers: Sequence[Watcher], read: Callable[[bytes], Thin]
) -> tuple[Course, Text]:
    """A run that is about to begin; ``read`` says what of called programs is put aside."""
    reader = LineReader()
    text = text_of(data, reader)
    return Course(text, reader, setting, _at_start(setting), watchers, read=read), text


def _run(course: Course, text: Text, lane: Lane | None) -> None:
    """Run the main program of a text."""
    if text.verbatim:
        course.act.not_followed(_NOWHERE, "the text is not in word-address form")
        return
    if text.leader:
        course.act.not_followed(_NOWHERE, f"what stands before line {text.first + text.leader}: not run")
    span = text.main
    course.push(
        Frame(
            text=text,
            span=span,
            kind=MAIN,
            depth=0,
            program=span.number,
            first=span.first,
            end=span.end,
            at=span.first,
        )
    )
    _lines(course, lane)


def _at_start(setting: Setting) -> Control:
    control = Control(lathe=bool(setting.lathe), units=setting.units, base=setting.units)
    if setting.lathe:
        control.plane = 18
    if setting.start is not None:
        control.position[:3] = setting.start
    return control


def _lines(course: Course, lane: Lane | None) -> None:
    """Line after line, until no program is left."""
    most, skipping = course.setting.most_blocks, course.setting.skip
    block = _NOWHERE
    while course.frames:
        frame = course.frames[-1]
        index = frame.at
        if index >= frame.end:
            returning.ran_off(course, block)
            continue
        if course.count >= most:
            course.act.not_followed(
                block, f"left after {most} blocks at line {block.line}: the rest is not run"
            )
            return
        if lane is not None and index in frame.text.rows:
            block = _row(course, lane, frame, index, block)
            continue
        course.count += 1
        frame.at = index + 1
        line, block = frame.text.ready(index, frame.program, frame.depth)
        if skipping and line.skip is not None:
            continue
        if line.said or line.comments or line.number or line.percent or line.why:
            _block(course, frame, index, line, block)


def _block(course: Course, frame: Frame, index: int, line: Line, block: Block) -> None:
    """A line that holds something."""
    control, watchers = course.control, course.watchers
    for watcher in watchers:
        watcher.block(block, control)
    if line.plain and not line.holds & course.asks and course.modal is None:
        if line.said:
            course.act.act(block, line.said)
    else:
        _step(course, frame, index, line, block)
    for watcher in watchers:
        watcher.acted(block, control)


def _row(course: Course, lane: Lane, frame: Frame, index: int, block: Block) -> Block:
    """A row of plain motion lines; what the lane leaves is run line by line.

    Returns the block run last. It stays at the row where no more blocks may be run.
    """
    if course.modal is not None:
        raise NotThinError
    text, row, most = frame.text, frame.text.rows[index], course.setting.most_blocks
    data, at, done = text.thin.data, row.start, 0
    frame.at = index + 1

    def block_at(begins: int) -> Block:
        lines = data.count(b"\n", row.start, begins)
        return text.row_line(row, begins, lines, frame.program, frame.depth)[1]

    while at < row.end:
        at, lines = lane.go(data, at, row.end, block_at)
        done += lines
        if lines and (at == row.end or course.count >= most):
            begins = data.rfind(b"\n", row.start, at - 1) + 1 or row.start
            block = block_at(begins)
        if course.count >= most and at < row.end:
            frame.at = index
            break
        if at < row.end:
            course.count += 1
            line, block = text.row_line(row, at, done, frame.program, frame.depth)
            _block(course, frame, index, line, block)
            at, done = data.index(b"\n", at) + 1, done + 1
    return block


def _step(course: Course, frame: Frame, index: int, line: Line, block: Block) -> None:
    """A line that asks for more than acting on its words."""
    kind = line.kind
    if kind == SETS:
        course.set(*line.sets)
    elif kind == KEYWORDS:
        flow.step(course, frame, index, line, block, line.words)
    elif kind == O_WORDS:
        flow_o.step(course, frame, index, line, block)
    elif kind == WORDS:
        if line.words:
            perform(course, line, block)
    else:
        _odd(course, frame, index, line, block)


def _odd(course: Course, frame: Frame, index: int, line: Line, block: Block) -> None:
    """What does not read as words, ``%``, comments that may act, a block skip in the midst of a line."""
    if line.why:
        course.act.not_followed(block, f"{course.where(block)} {line.why}")
        course.unfollowed(locals_too=True)
        return
    if line.percent and _ends(frame, index):
        if frame.kind == MAIN:
            course.finish(block, "%")
        else:
            frame.at = frame.end
        return
    for comment in line.acting:
        course.say(block, comment, "a comment that some controls act on")
    words = line.words
    if course.setting.skip:
        words = words[: next((at for at, word in enumerate(words) if word.letter == "/"), len(words))]
    if len(words) > 1 and words[0].letter == "O" and words[1].letter in O_KEYWORDS:
        flow_o.step(course, frame, index, line, block)
    elif any(word.letter in OWN_KEYWORDS for word in words):
        flow.step(course, frame, index, line, block, words)
    elif words:
        perform(course, line, block, words)


def _ends(frame: Frame, index: int) -> bool:
    """Whether a ``%`` ends the program: anything but a frame stands before it."""
    while frame.framed < index:
        if frame.text.counts(max(frame.framed, frame.first)):
            return True
        frame.framed = max(frame.framed, frame.first) + 1
    return False
