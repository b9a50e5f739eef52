"""The setup sheet's fingerprint, and what changed between two sheets.

The fingerprint is SHA-256 over ``proveout sheet 1``, a line feed, and one line of JSON: keys sorted, no blanks
between them, characters beyond ASCII escaped, numbers as shortest decimals (``0.5``, ``1``; never an exponent). It
covers the job's number, drawing and drawing revision and the operation's units, fixture, clearance, stock, highest
speed, continuous, offsets (sorted by code) and tools (sorted by number) with their defaults filled in; what is not
stated is left out. Machines, waivers and names are outside it, and so are blanks and the order of the file.
"""

from collections.abc import Mapping

from tracker.digest import sha256_of
from tracker.frozen import names_of
from tracker.records.job import Job, Offset, Operation, Tool, filled_in

SHEET_RULE_VERSION = 1

OTHER = "other"
DRAWING = "drawing"
SHEET_TEXT = "sheet-text"
SHEET_TOOL = "sheet-tool"
SHEET_OFFSET = "sheet-offset"

_OF_OPERATION = ("units", "fixture", "clearance_z", "stock", "max_rpm", "continuous")
_TOOL_TEXT = ("description", "insert")


_SHEETS = 2048
_known: dict[tuple[int, int], tuple[Job, Operation, str]] = {}


def sheet_fingerprint(job: Job, operation: Operation) -> str:
    """SHA-256 of the sheet, in hex; of one and the same sheet it is made once, however many releases hold it."""
    known = _known.get((id(job), id(operation)))
    if known is None:
        if len(_known) >= _SHEETS:
            _known.clear()
        # the two are kept too: as long as they are, no other has their place in memory
        known = _known[id(job), id(operation)] = (job, operation, sha256_of(sheet_bytes(job, operation)))
    return known[2]


def sheet_bytes(job: Job, operation: Operation) -> bytes:
    """The bytes the fingerprint is made of. An alternative may be handed in as written or filled in."""
    text = f"proveout sheet {SHEET_RULE_VERSION}\n{_json(sheet_values(job, operation))}"
    return text.encode("ascii")


def sheet_values(job: Job, operation: Operation) -> dict[str, object]:
    """What the sheet says, by key, defaults filled in, offsets and tools sorted; what is not stated is absent."""
    operation = filled_in(job, operation)
    values: dict[str, object] = {
        "job": job.number,
        "drawing": job.drawing,
        "drawing_revision": job.drawing_revision,
        "offsets": [_stated(one) for one in sorted(operation.offsets, key=lambda one: one.code)],
        "tools": [tool_values(one) for one in sorted(operation.tools, key=lambda one: one.number)],
    }
    values |= {key: getattr(operation, key) for key in _OF_OPERATION}
    values["continuous"] = bool(operation.continuous)
    values["stock"] = _stated(operation.stock) if operation.stock else None
    return {key: value for key, value in values.items() if value is not None}


def tool_values(tool: Tool) -> dict[str, object]:
    """What a tool says on the sheet, its offsets filled in."""
    offsets = {"h": tool.length_offset, "d": tool.diameter_offset, "offset": tool.wear_offset}
    return _stated(tool) | offsets


def sheet_kinds(
    old_job: Job, old_operation: Operation, new_job: Job, new_operation: Operation
) -> tuple[tuple[str, ...], tuple[int, ...] | None]:
    """The kinds of change between two sheets, sorted, and the numbers of the tools that changed.

    The tools are None (all of them) when an offset, the fixture or another value of the whole setup changed. A
    changed job number is ``other``: it is another part. A value that is in the fingerprint always gives a kind.
    """
    old, new = sheet_values(old_job, old_operation), sheet_values(new_job, new_operation)
    kinds: set[str] = set()
    if old["job"] != new["job"]:
        kinds.add(OTHER)
    if any(old.get(key) != new.get(key) for key in ("drawing", "drawing_revision")):
        kinds.add(DRAWING)
    if any(old.get(key) != new.get(key) for key in (*_OF_OPERATION, "offsets")):
        kinds.add(SHEET_OFFSET)
    old_tools, new_tools = _by_number(old_job, old_operation), _by_number(new_job, new_operation)
    changed: set[int] = set()
    for number in old_tools.keys() | new_tools.keys():
        kind = _tool_kinds(old_tools.get(number), new_tools.get(number))
        kinds |= kind
        if kind:
            changed.add(number)
    return tuple(sorted(kinds)), None if kinds & {SHEET_OFFSET, OTHER} else tuple(sorted(changed))


def _tool_kinds(old: Mapping[str, object] | None, new: Mapping[str, object] | None) -> set[str]:
    if old is None or new is None:
        return {SHEET_TOOL}
    keys = {key for key in old.keys() | new.keys() if old.get(key) != new.get(key)}
    kinds = {SHEET_TEXT} if keys & set(_TOOL_TEXT) else set()
    return kinds | ({SHEET_TOOL} if keys - set(_TOOL_TEXT) else set())


def _by_number(job: Job, operation: Operation) -> dict[int, dict[str, object]]:
    return {tool.number: tool_values(tool) for tool in filled_in(job, operation).tools}


def _stated(noun: Offset | Tool | object) -> dict[str, object]:
    held = {name: getattr(noun, name) for name in names_of(type(noun))}
    return {key: value for key, value in held.items() if value is not None}


def _json(value: object) -> str:
    """JSON with sorted keys and shortest decimals; the standard writer would write exponents and ``1.0``."""
    if isinstance(value, Mapping):
        inside = (f"{_json(key)}:{_json(value[key])}" for key in sorted(value))
        return "{" + ",".join(inside) + "}"
    if isinstance(value, list | tuple):
        return "[" + ",".join(_json(one) for one in value) + "]"
    if isinstance(value, float):
        return shortest_decimal(value)
    if isinstance(value, int):
        return str(value).lower()
    if isinstance(value, str) and value.isascii() and value.isprintable() and not {'"', "\\"} & set(value):
        return f'"{value}"'
    import json  # only what has to be escaped, or is none of the above, pays for it

    return json.dumps(value)


def shortest_decimal(number: float) -> str:
    """The fewest digits that read back as ``number``, without an exponent: ``0.5``, ``1``, ``0``."""
    if number == 0:
        return "0"
    text = repr(number)
    if not text.replace("-", "").replace(".", "").isdigit():
        from decimal import Decimal  # only a figure that is written with an exponent pays for it

        text = format(Decimal(text), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
