"""What was drafted for a new job, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.reports.table import print_table, say, visible, wrapped

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.records.draft import DraftOperation, DraftTool
    from tracker.services.new import NewReport


def as_json(report: "NewReport") -> dict[str, object]:
    """Job, its file, files written, operations with tools, and how many lines wait for a value."""
    return {
        "job": report.job,
        "job_file": report.job_path,
        "added": report.added_to,
        "written": list(report.written),
        "operations": [_operation_json(operation) for operation in report.operations],
        "open": report.open,
        "left_out": list(report.left_out),
    }


def print_text(report: "NewReport", console: "Console") -> None:
    """What was written, what was read out of the programs, and what comes next."""
    for path in report.written:
        say(console, f"written   {visible(path)}")
    if report.added_to:
        say(console, f"added to  {visible(report.job_path)}")
    for operation in report.operations:
        _print_operation(report.job, operation, console)
    if report.left_out:
        wrapped(console, f"Columns of the tool list left out: {', '.join(report.left_out)}.")
    say(console, "Next:")
    steps = [
        f"Fill in {report.job_path}: {_lines(report.open)} with ? is what no program says; what stays open is not checked.",
        *(f"See what the checks say: proveout verify {report.job}/{one.id}" for one in report.operations),
        f'Record it: proveout checkin {_named(report)} -m "first issue"',
    ]
    for number, step in enumerate(steps, 1):
        wrapped(console, f"{number}. {step}", indent="  ")


def _print_operation(job: str, operation: "DraftOperation", console: "Console") -> None:
    about = [operation.units or "units not said", *operation.offsets]
    if operation.machines:
        about.insert(0, ", ".join(operation.machines))
    say(
        console,
        "",
        f"{visible(job)}/{visible(operation.id)}  {visible(operation.program)}  {', '.join(about)}",
    )
    if operation.tools:
        lathe = operation.lathe
        headers = ("T", "offset", "description") if lathe else ("T", "H", "D", "description")
        rows = [_row(tool, lathe=lathe) for tool in operation.tools]
        print_table(console, headers, rows)
    else:
        say(console, "no tool change was found in it")
    for note in operation.notes:
        wrapped(console, f"note: {note}")


def _row(tool: "DraftTool", *, lathe: bool) -> tuple[str, ...]:
    words = tool.listed.get("description") or tool.description or ""
    if not tool.called:
        words = f"{words} (on the tool list only)".strip()
    keys = ("offset",) if lathe else ("h", "d")
    return (str(tool.number), *(_figures(tool, key) for key in keys), str(words))


def _figures(tool: "DraftTool", key: str) -> str:
    listed = tool.listed.get(key)
    called = getattr(tool, key)
    return str(listed) if listed is not None else " or ".join(map(str, called))


def _operation_json(operation: "DraftOperation") -> dict[str, object]:
    return {
        "operation": operation.id,
        "program": operation.program,
        "machines": list(operation.machines),
        "units": operation.units,
        "offsets": list(operation.offsets),
        "tools": [
            {
                "number": tool.number,
                "description": tool.description,
                "h": list(tool.h),
                "d": list(tool.d),
                "offset": list(tool.offset),
                "called": tool.called,
                "listed": dict(tool.listed),
            }
            for tool in operation.tools
        ],
        "notes": list(operation.notes),
    }


def _named(report: "NewReport") -> str:
    return " ".join(f"{report.job}/{operation.id}" for operation in report.operations)


def _lines(count: int) -> str:
    return "one line" if count == 1 else f"{count} lines"
