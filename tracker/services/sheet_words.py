"""What changed on a setup sheet, in words: ``T5 stick-out: was 1.75, is 1.9``."""

from collections.abc import Iterator
from dataclasses import dataclass, fields

from tracker.nc import kinds as k
from tracker.records.job import Job, Operation, Stock, Tool

_TOOL_TEXT = frozenset({"description", "insert"})
_SHEET_OFFSET = ("fixture", "clearance_z", "units", "max_rpm", "continuous")


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetChange:
    """One value of a sheet: kind of change, the tool it belongs to, and what was and is, in words."""

    kind: str
    tool: str | None
    words: str


def sheet_words(old: tuple[Job, Operation], new: tuple[Job, Operation]) -> tuple[SheetChange, ...]:
    """Every value that differs, in the order of the sheet."""
    return (
        *_drawing(old[0], new[0]),
        *_setting(old[1], new[1]),
        *_offsets(old[1], new[1]),
        *_tools(old[1], new[1]),
    )


def _drawing(old: Job, new: Job) -> Iterator[SheetChange]:
    for name in ("drawing", "drawing_revision"):
        yield from _value(k.DRAWING, None, name, getattr(old, name), getattr(new, name))


def _setting(old: Operation, new: Operation) -> Iterator[SheetChange]:
    for name in _SHEET_OFFSET:
        yield from _value(k.SHEET_OFFSET, None, name, getattr(old, name), getattr(new, name))
    was, now = old.stock or Stock(), new.stock or Stock()
    for field in fields(Stock):
        label = f"stock {field.name}"
        yield from _value(k.SHEET_OFFSET, None, label, getattr(was, field.name), getattr(now, field.name))


def _offsets(old: Operation, new: Operation) -> Iterator[SheetChange]:
    was = {offset.code: offset.origin for offset in old.offsets}
    now = {offset.code: offset.origin for offset in new.offsets}
    for code in dict.fromkeys([*was, *now]):
        before = was.get(code) or "stated without origin" if code in was else None
        after = now.get(code) or "stated without origin" if code in now else None
        yield from _value(k.SHEET_OFFSET, None, code, before, after)


def _tools(old: Operation, new: Operation) -> Iterator[SheetChange]:
    was = {tool.number: tool for tool in old.tools}
    now = {tool.number: tool for tool in new.tools}
    for number in sorted({*was, *now}):
        yield from _tool(number, was.get(number), now.get(number))


def _tool(number: int, was: Tool | None, now: Tool | None) -> Iterator[SheetChange]:
    tool = str(number)
    if was is None or now is None:
        words = f"T{number}: {'not on the sheet before' if was is None else 'taken off the sheet'}"
        yield SheetChange(kind=k.SHEET_TOOL, tool=tool, words=words)
        return
    for name, before, after in _tool_values(was, now):
        kind = k.SHEET_TEXT if name in _TOOL_TEXT else k.SHEET_TOOL
        yield from _value(kind, tool, f"T{number} {name}", before, after)


def _tool_values(was: Tool, now: Tool) -> Iterator[tuple[str, object, object]]:
    """Values with the usual ones filled in: H, D and offset are the tool's number."""
    for field in fields(Tool):
        if field.name not in ("number", "h", "d", "offset"):
            yield field.name, getattr(was, field.name), getattr(now, field.name)
    yield "H", was.length_offset, now.length_offset
    yield "D", was.diameter_offset, now.diameter_offset
    yield "offset", was.wear_offset, now.wear_offset


def _value(kind: str, tool: str | None, name: str, was: object, now: object) -> Iterator[SheetChange]:
    if was != now:
        words = f"{name.replace('_', ' ')}: was {_said(was)}, is {_said(now)}"
        yield SheetChange(kind=kind, tool=tool, words=words)


def _said(value: object) -> str:
    if value is None:
        return "not stated"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return " to ".join(f"{one:g}" for one in value)
    return str(value)
