"""A tool list from a spreadsheet: which heading means which key of the setup sheet, and the values of each tool.

Headings come in any order and under the names shops give them (common practice, no source). One that might mean two
keys is asked about, never guessed; one that means none is left out and said to be.
"""

from collections.abc import Callable, Mapping, Sequence

from tracker.errors import BadCall
from tracker.frozen import dataclass
from tracker.records.field import Field, Kind
from tracker.records.fields import TOOL
from tracker.records.table_reading import table_problems
from tracker.services.csv_table import Row, Table, figure_of, read_table

_NAMES: Mapping[str, tuple[str, ...]] = {
    "number": (
        "t",
        "tool",
        "tool no",
        "tool number",
        "tool nr",
        "no",
        "nr",
        "number",
        "station",
        "pocket",
        "pos",
    ),
    "description": ("description", "desc", "tool description", "tool name", "name", "text", "designation"),
    "diameter": ("diameter", "dia", "tool diameter", "cutter diameter", "tool dia", "cutter dia"),
    "stick_out": (
        "stick out",
        "stickout",
        "out of holder",
        "length out of holder",
        "projection",
        "protrusion",
    ),
    "h": ("h", "h no", "h offset", "length offset", "h number"),
    "d": ("d no", "d offset", "diameter offset", "radius offset", "d number"),
    "offset": ("offset", "offset no", "wear offset"),
    "nose_radius": ("nose radius", "tip radius", "corner radius", "nose r"),
    "insert": ("insert", "insert type"),
    "large": ("large", "oversize", "large tool"),
    "through_coolant": ("through coolant", "coolant through", "tsc"),
    "flute_length": ("flute length", "cutting length", "length of cut", "loc"),
    "length": ("gauge length", "gage length", "overall length", "total length"),
    "weight": ("weight", "mass"),
    "lowest_z": ("lowest z", "deepest z", "max depth", "min z"),
}
_UNCLEAR: Mapping[str, tuple[str, ...]] = {
    "d": ("d", "diameter"),
    "r": ("nose_radius",),
    "radius": ("nose_radius", "diameter"),
    "length": ("stick_out", "length", "flute_length"),
    "l": ("stick_out", "length", "flute_length"),
    "depth": ("lowest_z", "stick_out"),
}
LEFT_OUT = "-"
"""What a person says of a heading that means nothing here."""
_YES = frozenset({"yes", "y", "true", "x", "1", "ja", "oui", "si"})
_NO = frozenset({"no", "n", "false", "0", "nein", "non"})

Ask = Callable[[str, Sequence[str]], str]
"""Asks which key a heading means, of several; answers with one of them or `LEFT_OUT`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolList:
    """Values by tool number and key; ``left_out`` headings that mean no key."""

    tools: Mapping[int, Mapping[str, object]]
    left_out: tuple[str, ...]


def read_tool_list(data: bytes, name: str, *, columns: Mapping[str, str], ask: Ask) -> ToolList:
    """Read a tool list.

    Args:
        data: bytes of the CSV file.
        name: its name, for messages.
        columns: what a person said already: heading (any case) -> key, or ``-``.
        ask: for a heading that might mean several keys.

    Raises:
        BadCall: ``bad-csv``, ``csv-heading`` (no column of tool numbers, two columns for one key, an unknown key or
            heading in ``columns``), ``csv-value`` (a cell that cannot be such a value, a tool twice).
    """
    table = read_table(data, name)
    keys = _keys(table, name, columns, ask)
    tools: dict[int, Mapping[str, object]] = {}
    for row in table.rows:
        number, values = _tool(table, row, keys, name)
        if number in tools:
            raise _bad_value(name, row, f"tool {number} stands in the list twice", "leave one of the rows")
        tools[number] = values
    left_out = tuple(heading for heading in table.headings if heading and heading not in keys)
    return ToolList(tools=tools, left_out=left_out)


def _keys(table: Table, name: str, columns: Mapping[str, str], ask: Ask) -> dict[str, str]:
    """Heading -> key."""
    said = {_plain(heading): key for heading, key in columns.items()}
    _known(table, name, columns)
    found: dict[str, str] = {}
    clear = {_clear(_plain(heading)) for heading in table.headings}
    for heading in table.headings:
        plain = _plain(heading)
        key = said.get(plain) or _clear(plain)
        if plain in _UNCLEAR and plain not in said:
            # what another heading says plainly, this one does not mean
            left = [one for one in _UNCLEAR[plain] if one not in clear]
            key = left[0] if len(left) == 1 and len(_UNCLEAR[plain]) > 1 else ask(heading, _UNCLEAR[plain])
        if key is None or key == LEFT_OUT or not plain:
            continue
        if key in found.values():
            first = next(other for other, held in found.items() if held == key)
            raise _bad_heading(name, f"both {first!r} and {heading!r} would be {key}", heading)
        found[heading] = key
    if "number" not in found.values():
        raise _bad_heading(name, "no heading says where the tool numbers stand", table.headings[0])
    return found


def _clear(plain: str) -> str | None:
    """The key a heading means beyond doubt."""
    if plain in _UNCLEAR:
        return None
    key = next((key for key, names in _NAMES.items() if plain in names), plain.replace(" ", "_"))
    return key if TOOL.field(key) else None


def _known(table: Table, name: str, columns: Mapping[str, str]) -> None:
    there = {_plain(heading) for heading in table.headings}
    for heading, key in columns.items():
        if _plain(heading) not in there:
            raise _bad_heading(name, f"there is no column {heading!r}", table.headings[0])
        if key != LEFT_OUT and TOOL.field(key) is None:
            raise _bad_heading(name, f"a tool has no key {key!r}", heading)


def _tool(table: Table, row: Row, keys: Mapping[str, str], name: str) -> tuple[int, Mapping[str, object]]:
    values: dict[str, object] = {}
    for heading, cell in row.cells.items():
        key = keys.get(heading)
        field = TOOL.field(key) if key is not None else None
        if field is None or key is None:
            continue
        value = _value(field, cell, comma=table.comma_figures)
        if value is None:
            raise _bad_value(name, row, f"{heading}: {cell!r} is not {field.kind}", "put the cell right")
        values[key] = value
    number = values.get("number")
    if not isinstance(number, int):
        raise _bad_value(name, row, "the row has no tool number", "put one in, or take the row out")
    wrong = next(table_problems(TOOL, values, ()), None)
    if wrong is not None:
        raise _bad_value(name, row, wrong.message, wrong.fix or "put the cell right")
    del values["number"]
    return number, values


def _value(field: Field, cell: str, *, comma: bool) -> object:
    """The value of a cell for a key, None where it is none."""
    if field.kind == Kind.TEXT:
        return " ".join(cell.split())
    if field.kind == Kind.YES_NO:
        said = cell.lower()
        return True if said in _YES else False if said in _NO else None
    marks = "THDthd" if field.kind == Kind.WHOLE else ""
    figure = figure_of(cell.lstrip(marks), comma=comma)
    if field.kind == Kind.WHOLE:
        return int(figure) if figure is not None and figure == int(figure) else None
    return figure


def _plain(heading: str) -> str:
    """A heading without its units, marks and case: ``Stick-out (mm)`` is ``stick out``."""
    bare = heading.split("(")[0].split("[")[0]
    letters = "".join(mark if mark.isalnum() else " " for mark in bare.lower())
    return " ".join(letters.split())


def _bad_heading(name: str, what: str, heading: str) -> BadCall:
    keys = ", ".join(field.key for field in TOOL.fields)
    return BadCall(
        "csv-heading",
        what,
        where=f"{name}:1",
        fix=f'say what a heading means, like --column "{heading}=stick_out", or - to leave it out; keys: {keys}',
    )


def _bad_value(name: str, row: Row, what: str, fix: str) -> BadCall:
    return BadCall("csv-value", what, where=f"{name}:{row.line}", fix=fix)
