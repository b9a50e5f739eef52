"""The text of a job.toml drafted from programs: values where they are known, a remark with ``?`` where they are not.

It is read back without a mistake as it is. A person puts the value in place of ``?`` and takes the ``#`` away.
"""

from collections.abc import Iterable

from tracker.records.draft import DraftJob, DraftOperation, DraftTool
from tracker.records.field import Table
from tracker.records.fields import JOB_TABLE, OFFSET, OPERATION, STOCK, TOOL
from tracker.records.template import quoted

OPEN = "?"
"""What stands for a value nobody has stated yet."""
_WIDTH = 34
_MILL_ASKS = ("diameter", "stick_out")
_LATHE_ASKS = ("nose_radius", "stick_out")
_MILL_STOCK = ("top", "x", "y")
_LATHE_STOCK = ("out_of_jaws", "bar_past_spindle", "supported", "diameter")


def drafted_job(job: DraftJob) -> str:
    """The whole file."""
    names = ", ".join(dict.fromkeys(operation.drawn_from for operation in job.operations))
    return "".join(
        [
            f"# Drafted from {_remark(names)}. A line with ? is not known from there: put the value in, take the # away.\n",
            "# What is left out is not checked, never guessed; jobs/job-example.toml shows every key.\n",
            f"format = 1\n\n[job]\n{_given('number', job.number)}",
            _ask(JOB_TABLE, "part"),
            _ask(JOB_TABLE, "name", f"the head says: {job.title}" if job.title else None),
            *(
                _given(key, value) if value is not None else _ask(JOB_TABLE, key)
                for key in ("drawing", "drawing_revision", "material")
                for value in (getattr(job, key),)
            ),
            *("\n" + drafted_operation(operation) for operation in job.operations),
        ]
    )


def drafted_operation(operation: DraftOperation) -> str:
    """The tables of one operation, to stand at the end of a job.toml."""
    stock = ", ".join(f"{key} = {_open(key)}" for key in (_LATHE_STOCK if operation.lathe else _MILL_STOCK))
    lines = [
        "[[operations]]\n",
        *(f"# {_remark(note)}\n" for note in operation.notes),
        _given("id", operation.id),
        _given("program", operation.program),
        _given("machines", list(operation.machines)) if operation.machines else _ask(OPERATION, "machines"),
        _given("units", operation.units) if operation.units else _ask(OPERATION, "units"),
        _ask(OPERATION, "fixture"),
        _ask(OPERATION, "clearance_z"),
        _line(f"# stock = {{ {stock} }}", STOCK.doc),
        *([_ask(OPERATION, "max_rpm")] if operation.lathe else []),
    ]
    for code in operation.offsets:
        lines += ["\n[[operations.offsets]]\n", _given("code", code), _ask(OFFSET, "origin")]
    for tool in operation.tools:
        lines += ["\n[[operations.tools]]\n", *_tool(tool, lathe=operation.lathe)]
    return "".join(lines)


def _open(key: str) -> str:
    """What stands for a value of the stock: two figures for a range."""
    return f"[{OPEN}, {OPEN}]" if key in ("x", "y") else OPEN


def open_questions(text: str) -> int:
    """How many lines of a job.toml still wait for a value."""
    keys = (line[2:].partition(" # ")[0] for line in text.splitlines() if line.startswith("# "))
    return sum(1 for key in keys if "= " in key and OPEN in key)


def _tool(tool: DraftTool, *, lathe: bool) -> Iterable[str]:
    if not tool.called:
        yield "# on the tool list; the program does not change to it\n"
    yield _given("number", tool.number)
    said = {"description": tool.description, **tool.listed}
    asked = _LATHE_ASKS if lathe else _MILL_ASKS
    for key in ("description", *asked):
        value = said.pop(key, None)
        yield _ask(TOOL, key) if value is None else _given(key, value)
    for key in ("offset",) if lathe else ("h", "d"):
        yield from _called_with(key, getattr(tool, key), said.pop(key, None))
    yield from (_given(key, value) for key, value in said.items())


def _called_with(key: str, called: tuple[int, ...], listed: object) -> Iterable[str]:
    """H, D or the lathe's offset: as listed, else the one figure the program calls; several are a question."""
    if listed is not None:
        yield _given(key, listed)
    elif len(called) == 1:
        yield _given(key, called[0])
    elif called:
        words = " and ".join(f"{'' if key == 'offset' else key.upper()}{figure}" for figure in called)
        yield _ask(TOOL, key, f"the program calls {words} with it")


def _given(key: str, value: object) -> str:
    return f"{key} = {_toml(value)}\n"


def _ask(table: Table, key: str, remark: str | None = None) -> str:
    field = table.field(key)
    kind = "" if field is None else str(field.example)
    mark = f'["{OPEN}"]' if kind.startswith("[") else f'"{OPEN}"' if kind.startswith('"') else OPEN
    return _line(f"# {key} = {mark}", remark or _doc(table, key))


def _toml(value: object) -> str:
    """TOML of a value of a people's file."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(_toml(one) for one in value) + "]"
    return quoted(value) if isinstance(value, str) else repr(value)


def _doc(table: Table, key: str) -> str:
    field = table.field(key)
    return field.doc if field is not None else ""


def _line(left: str, doc: str) -> str:
    return f"{left:{_WIDTH}} # {_remark(doc)}\n"


def _remark(text: str) -> str:
    """One line that may stand behind a ``#``: no character a TOML remark refuses."""
    return "".join(mark if mark >= " " and mark != "\x7f" else " " for mark in text)
