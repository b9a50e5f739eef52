"""G10, G52 and G92: words that write offsets. NISTIR 6556 (2000), sections 3.5.5, 3.5.18; G52 and L20 from memory."""

from tracker.machining.acting import Acting
from tracker.machining.axes import LINEAR
from tracker.machining.block_words import Words, whole
from tracker.machining.offsets import move

CODES = frozenset({"10", "52", "92", "92.1", "92.2", "92.3"})
WRITTEN = "offset-written"


def acts(act: Acting, words: Words) -> bool:
    """Do such a word; whether there was one, so that axis words are used up."""
    here = [code for code in words.g if code in CODES]
    if not here or (act.control.lathe and here[-1] != "10"):
        return False
    code = here[-1]
    if code == "10":
        _write(act, words)
    elif code == "52":
        act.event(WRITTEN, words.spelled())
        act.offsets.local(act.control, _absolute(act, words))
    elif code == "92":
        if not words.has_axes():
            return False
        act.event(WRITTEN, words.spelled())
        act.offsets.stand_at(act.control, _absolute(act, words))
    else:
        _take_back(act, code)
    return True


def _absolute(act: Acting, words: Words) -> dict[int, float | None]:
    """The axis words as they stand, whatever G90 and G91 say."""
    return {
        place: figure * act.factor if figure is not None and place < LINEAR else figure
        for place, figure in words.axes()
    }


def _take_back(act: Acting, code: str) -> None:
    """G92.1 clears the shift, G92.2 puts it aside, G92.3 brings it back."""
    offsets, control = act.offsets, act.control
    if code == "92.3":
        offsets.stand_back(control, list(offsets.kept))
        return
    if code == "92.2":
        offsets.kept = list(control.moved)
    offsets.stand_back(control, [0.0] * LINEAR)


def _write(act: Acting, words: Words) -> None:
    """G10: what it writes is told as written; where the offset in force is written, the axes stand elsewhere.

    L12 and L13 are radii, L3 is how long tools last, L50 and L52 begin lines of data (which are named where they are
    read): they move nothing (common practice on macro-type controls, from memory).
    """
    act.event(WRITTEN, words.spelled())
    kind, number = whole(words.value("L")), whole(words.value("P"))
    if kind in (2, 20):
        _write_work(act, words, kind, number)
    elif kind in (1, 10, 11) and number is not None:
        _write_length(act, words, kind, number)
    elif kind not in (3, 12, 13, 50, 52):
        _forget(act)


def _write_work(act: Acting, words: Words, kind: int, number: int | None) -> None:
    control = act.control
    in_force = control.offset or "G54"
    code = in_force if number == 0 else work_code(number)
    here = act.offsets.work.setdefault(code, [None] * LINEAR)
    for place, figure in _absolute(act, words).items():
        if place >= LINEAR:
            continue
        before = here[place]
        if kind == 20:
            _stand(act, here, place, figure, in_force=code == in_force)
            continue
        if control.absolute is False and figure is not None:
            act.guess("G10 L2 under G91 is taken to add to the offset, as macro-type controls do")
            figure = None if before is None else before + figure
        here[place] = figure
        if code == in_force:
            move(control, place, before, figure)


def _stand(
    act: Acting, here: list[float | None], place: int, figure: float | None, *, in_force: bool
) -> None:
    """G10 L20: the offset becomes what makes the axis stand at ``figure`` with it."""
    control = act.control
    stood, before = control.position[place], act.offsets.of_work(control.offset)[place]
    here[place] = None
    if stood is not None and before is not None and figure is not None:
        here[place] = before + stood - figure
    if in_force:
        control.position[place] = figure


def _write_length(act: Acting, words: Words, kind: int, number: int) -> None:
    """Tool data: a new length is known for L1 and L10 with a Z, a wear is not.

    L10 on macro-type controls has its figure in R; what that adds up to is not known.
    """
    known = words.value("Z") if kind in (1, 10) else None
    figure = None if known is None else known * act.factor
    before = act.offsets.of_length(act.control)
    act.offsets.lengths[number] = figure
    if act.control.h == number and act.control.length in ("43", "44"):
        act.guess("a length written by G10 while it is in force is taken up at once")
        move(act.control, LINEAR - 1, before, act.offsets.of_length(act.control))


def _forget(act: Acting) -> None:
    """Any offset may have been written."""
    act.offsets.work.clear()
    act.offsets.lengths.clear()
    act.lose()


def work_code(number: int | None) -> str:
    """The work offset a G10 L2 P means: 1 to 6 are G54 to G59, 7 to 9 G59.1 to G59.3 (section 3.5.13)."""
    if number is None:
        return "?"
    if 1 <= number <= 6:
        return f"G{53 + number}"
    return f"G59.{number - 6}" if 7 <= number <= 9 else f"P{number}"
