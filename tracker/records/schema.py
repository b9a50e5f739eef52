"""JSON Schemas of ``shop.toml`` and ``job.toml`` for editors, made from the same tables the reader uses.

Draft 4 features only, since editors' TOML support stops there. A schema cannot say everything the reader checks (an id
that stands twice, an unknown machine); it never refuses what the reader takes.
"""

import json
from collections.abc import Mapping

from tracker.records.field import Field, Kind, Table
from tracker.records.fields import JOB_FILE, SHOP_FILE
from tracker.records.ids import ID_PATTERN
from tracker.records.shop import CARRY, REPROVE, REVIEW

_DRAFT = "http://json-schema.org/draft-04/schema#"
_PLAIN: Mapping[Kind, Mapping[str, object]] = {
    Kind.TEXT: {"type": "string"},
    Kind.ID: {"type": "string", "pattern": f"^{ID_PATTERN}$"},
    Kind.WHOLE: {"type": "integer"},
    Kind.FIGURE: {"type": "number"},
    Kind.YES_NO: {"type": "boolean"},
    Kind.DATE: {"type": "string", "format": "date"},
    Kind.RANGE: {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2},
}
_ITEMS = {Kind.TEXTS: Kind.TEXT, Kind.IDS: Kind.ID, Kind.WHOLES: Kind.WHOLE}
# a kind of change may be moved to a stricter list only
_KINDS_ALLOWED = {"carry": CARRY, "review": (*CARRY, *REVIEW), "reprove": (*CARRY, *REVIEW, *REPROVE)}


def schema_text(name: str) -> str:
    """The schema of ``shop`` or ``job`` as the text of its file."""
    table = {"shop": SHOP_FILE, "job": JOB_FILE}[name]
    schema = {"$schema": _DRAFT, "title": table.heading, **table_schema(table)}
    return json.dumps(schema, indent=2, ensure_ascii=True) + "\n"


def table_schema(table: Table) -> dict[str, object]:
    """The schema of one table."""
    schema: dict[str, object] = {
        "type": "object",
        "description": table.doc,
        "properties": {field.key: _field_schema(field) for field in table.fields},
        "additionalProperties": False,
    }
    required = [field.key for field in table.fields if field.required]
    return schema | ({"required": required} if required else {})


def _field_schema(field: Field) -> dict[str, object]:
    described: dict[str, object] = {"description": field.doc}
    if field.table is not None:
        inner = table_schema(field.table)
        if field.kind is Kind.TABLES:
            return described | {"type": "array", "items": inner}
        return inner | described
    if field.kind in _ITEMS:
        items = _single(field, _ITEMS[field.kind])
        described |= {"type": "array", "items": items, "uniqueItems": True}
    else:
        described |= _single(field, field.kind)
    if field.default is not None:
        described["default"] = list(field.default) if isinstance(field.default, tuple) else field.default
    return described


def _single(field: Field, kind: Kind) -> dict[str, object]:
    schema = dict(_PLAIN[kind])
    allowed = field.choices or _KINDS_ALLOWED.get(field.key, ())
    if allowed:
        schema["enum"] = list(allowed)
    if field.pattern is not None:
        schema["pattern"] = field.pattern
    elif kind is Kind.TEXT and field.required and not allowed:
        schema["minLength"] = 1
    if field.low is not None:
        schema["minimum"] = field.low
    if field.above is not None:
        schema |= {"minimum": field.above, "exclusiveMinimum": True}
    if field.high is not None:
        schema["maximum"] = field.high
    return schema
