"""A mapping against the table that describes it: everything wrong with it, or the values it holds.

`table_problems` looks at every key and value by itself; rules between keys are elsewhere. `values` may be called on a
mapping without problems only; it fills in defaults and builds the nouns of nested tables.
"""

from collections.abc import Iterator, Mapping
from datetime import date, datetime

from tracker.records.field import Field, Kind, Table
from tracker.records.problems import Path, Problem, nearest_fix
from tracker.records.value_rules import identifier
from tracker.typed import Any

_FAR = 1e12  # no length, rate or speed of a machine tool; keeps out inf, and nan, which is less than nothing
_LISTS = {Kind.TEXTS: Kind.TEXT, Kind.IDS: Kind.ID, Kind.WHOLES: Kind.WHOLE}


def table_problems(table: Table, mapping: Mapping[str, object], path: Path) -> Iterator[Problem]:
    """Everything wrong with ``mapping`` as a ``table`` at ``path``: unknown and missing keys, wrong values."""
    for key, value in mapping.items():
        field = table.field(key)
        if key in table.unbuilt:
            yield Problem((*path, key), f"{key}: {table.unbuilt[key]}", f"take {key} out")
        elif field is None:
            known = [one.key for one in table.fields]
            yield Problem(
                (*path, key), f"unknown key {key!r} in {table.heading}", nearest_fix(key, known, "keys")
            )
        else:
            yield from _field_problems(field, value, (*path, key))
    for field in table.fields:
        if field.required and field.key not in mapping:
            example = f"{field.key} = {field.example}" if field.example else f"[{field.key}]"
            yield Problem(
                path,
                f"{table.heading} has no {field.key} ({field.doc.rstrip('.')})",
                f"add a line like: {example}",
            )


def values(table: Table, mapping: Mapping[str, object]) -> dict[str, Any]:
    """The values of a mapping without problems, by key; what is absent has its default."""
    return {field.key: _value(field, mapping.get(field.key)) for field in table.fields}


def build(table: Table, mapping: Mapping[str, object]) -> Any:
    """The noun a table without problems describes."""
    return table.builds(**values(table, mapping))


def _value(field: Field, value: object) -> object:
    if value is None:
        return field.default
    if field.table is not None and isinstance(value, Mapping):
        return build(field.table, value)
    if field.table is not None and isinstance(value, list):
        return tuple(build(field.table, row) for row in value)
    if isinstance(value, list):
        return tuple(float(one) for one in value) if field.kind is Kind.RANGE else tuple(value)
    return float(value) if field.kind is Kind.FIGURE and isinstance(value, int) else value


def _field_problems(field: Field, value: object, path: Path) -> Iterator[Problem]:
    if field.kind in _LISTS:
        yield from _list_problems(field, value, path)
    elif field.kind is Kind.TABLES:
        yield from _rows_problems(field, value, path)
    elif field.kind is Kind.TABLE and field.table is not None and isinstance(value, Mapping):
        yield from table_problems(field.table, value, path)
    elif isinstance(value, str) and value in field.unbuilt:
        fix = f"write {field.key} = {field.example}, or take it out"
        yield Problem(path, f"{field.key} = {value!r}: {field.unbuilt[value]}", fix)
    else:
        yield from _single_problems(field, field.kind, value, path)


def _rows_problems(field: Field, value: object, path: Path) -> Iterator[Problem]:
    if (
        field.table is None
        or not isinstance(value, list)
        or not all(isinstance(row, Mapping) for row in value)
    ):
        heading = field.table.heading if field.table else f"[[{field.key}]]"
        yield Problem(path, f"{field.key} must be {field.kind}", f"open each one with a line {heading}")
        return
    for at, row in enumerate(value):
        yield from table_problems(field.table, row, (*path, at))


def _list_problems(field: Field, value: object, path: Path) -> Iterator[Problem]:
    if not isinstance(value, list):
        fix = f"write it like: {field.key} = {field.example}"
        yield Problem(path, f"{field.key} must be {field.kind}, not {shown(value)}", fix)
        return
    seen: list[object] = []
    for at, one in enumerate(value):
        yield from _single_problems(field, _LISTS[field.kind], one, (*path, at))
        if one in seen:
            yield Problem((*path, at), f"{field.key} names {shown(one)} twice", "take one out")
        seen.append(one)


def _single_problems(field: Field, kind: Kind, value: object, path: Path) -> Iterator[Problem]:
    example = f"write it like: {field.key} = {field.example}" if field.example else None
    if not _is(kind, value):
        yield Problem(path, f"{field.key} must be {kind}, not {shown(value)}", example)
        return
    complaint = _figure_complaint(field, value)
    if isinstance(value, str):
        if field.choices and value not in field.choices:
            fix = nearest_fix(value, field.choices, "values")
            yield Problem(path, f"{field.key} cannot be {value!r}", fix)
        elif kind is Kind.ID:
            complaint = identifier(value)
        elif field.rule is not None:
            complaint = field.rule(value)
        elif field.required and not value.strip():
            complaint = "it is empty"
    if complaint:
        yield Problem(path, f"{field.key}: {complaint}", example)


def _is(kind: Kind, value: object) -> bool:
    if kind in (Kind.TEXT, Kind.ID):
        return isinstance(value, str)
    if kind is Kind.YES_NO:
        return isinstance(value, bool)
    if kind is Kind.WHOLE:
        return isinstance(value, int) and not isinstance(value, bool)
    if kind is Kind.DATE:
        return isinstance(value, date) and not isinstance(value, datetime)
    if kind is Kind.RANGE:
        return isinstance(value, list) and len(value) == 2 and all(_is(Kind.FIGURE, one) for one in value)
    if kind is Kind.FIGURE:
        return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < _FAR
    return False


def _figure_complaint(field: Field, value: object) -> str | None:
    if isinstance(value, list) and field.kind is Kind.RANGE and value[0] >= value[1]:
        return f"the lowest stands first and must be less than the highest, not {shown(value)}"
    if not isinstance(value, int | float) or isinstance(value, bool):
        return None
    if field.low is not None and value < field.low:
        return f"{shown(value)} is less than {field.low:g}"
    if field.above is not None and value <= field.above:
        return f"{shown(value)} is not above {field.above:g}; leave the key out if it is not known"
    if field.high is not None and value > field.high:
        return f"{shown(value)} is more than {field.high:.0f}"
    return None


def shown(value: object) -> str:
    """A value as it is quoted in a message, cut where it is long."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "a table"
    text = str(value) if isinstance(value, date) else repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
