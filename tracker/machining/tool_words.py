"""T and M6: which tool is called for, and which is in the spindle. NISTIR 6556 (2000), sections 3.6.3 and 3.7.3."""

from tracker.machining.acting import Acting
from tracker.machining.block_words import Words, whole


def change_tool(act: Acting, words: Words) -> None:
    """T calls for a tool, M6 changes to the one called for last; on a lathe T changes at once."""
    control = act.control
    if control.lathe:
        if "T" in words:
            _turret(act, words)
        return
    if "T" in words:
        control.staged = act.called_for = whole(words.value("T"))
        if act.setting.t_changes:
            _change(act)
            return
        if "6" not in words.m:
            act.event("staged", "?" if control.staged is None else str(control.staged))
    if "6" in words.m:
        _change(act)


def _change(act: Acting) -> None:
    """The tool called for comes into the spindle. Axes may travel meanwhile, so where they stand is not known."""
    control = act.control
    if act.called_for is None:
        act.name("M6", "no tool was called for")
    control.tool, control.staged = act.called_for, None
    control.spindle = "5"
    act.lose()
    act.event("tool", "" if control.tool is None else str(control.tool))


def _turret(act: Acting, words: Words) -> None:
    """T0101 is station 1 with offset 1, T1 station 1 (common practice on turning controls, from memory).

    The last two digits of a T of three or more are the offset. Another offset moves the zero of X and Z.
    """
    control = act.control
    item = words.word("T")
    number = whole(item.value) if item else None
    if item is None or number is None:
        control.tool = control.tool_offset = None
        act.lose()
        act.event("tool", "")
        return
    digits = item.word.number.lstrip("+").split(".")[0]
    station, offset = divmod(number, 100) if len(digits) > 2 else (number, None)
    same = station in (0, control.tool)
    if (station or control.tool, offset) != (control.tool, control.tool_offset):
        act.lose((0, 2))
    control.tool_offset = offset
    if not same:
        control.tool = station
        act.event("tool", str(station), "" if offset is None else str(offset))
