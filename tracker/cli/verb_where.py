"""``where``: the machines and sticks a revision reached and its runs; and back from a part, a program or a tool."""

from typing import Annotated

import typer

from tracker.cli.frame import Csv, Frame, Json, MachineOption
from tracker.cli.options import MaybeTarget, named_in
from tracker.errors import BadCall, Exit


def command(
    ctx: typer.Context,
    name: MaybeTarget = None,
    lot: Annotated[str | None, typer.Option("--lot", metavar="LOT", help="Back from a lot.")] = None,
    serial: Annotated[
        str | None, typer.Option("--serial", metavar="NO", help="Back from a part's serial number.")
    ] = None,
    on: Annotated[
        str | None, typer.Option("--on", metavar="DAY", help="Back from a day, with --machine.")
    ] = None,
    machine: MachineOption = None,
    program: Annotated[
        str | None,
        typer.Option("--program", metavar="O8001", help="Who calls a program, and proven with which text."),
    ] = None,
    tool: Annotated[
        str | None, typer.Option("--tool", metavar="WORDS", help="Which setup sheets name such a tool.")
    ] = None,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Show where a revision went; from a lot, serial or day back to its text; who uses a program or a tool."""
    frame = Frame.of(ctx, json=json, csv=csv)
    back = (lot, serial, on)
    traced = any(one is not None for one in back)
    asked = [traced, program is not None, tool is not None, name is not None and not traced]
    if sum(asked) != 1 or (machine is not None and not traced):
        raise BadCall(
            "wrong-call",
            "where is what? One thing at a time",
            fix="name a revision, or --lot, --serial, --on DAY --machine M, --program O8001, --tool WORDS",
        )
    if traced:
        return _trace(frame, name, lot=lot, serial=serial, on=on, machine=machine)
    if program is not None or tool is not None:
        return _uses(frame, program, tool)
    return _went(frame, name or "")


def _went(frame: Frame, name: str) -> int:
    from tracker.reports.where import as_json, print_text
    from tracker.services.where import where

    desk = frame.view()
    report = where(desk, named_in(frame, desk, name))
    frame.answer("where", lambda: as_json(report), lambda console: print_text(report, console))
    return Exit.COULD_NOT if report.unreadable else Exit.DONE


def _trace(
    frame: Frame,
    name: str | None,
    *,
    lot: str | None,
    serial: str | None,
    on: str | None,
    machine: str | None,
) -> int:
    from tracker.reports.where_from import print_trace, trace_json
    from tracker.services.trace import Wanted, trace

    desk = frame.view()
    job = named_in(frame, desk, name).job if name is not None else None
    report = trace(desk, Wanted(lot=lot, serial=serial, day=on, machine=machine, job=job))
    frame.answer("where", lambda: trace_json(report), lambda console: print_trace(report, console))
    return Exit.DONE if report.runs else Exit.NO


def _uses(frame: Frame, program: str | None, tool: str | None) -> int:
    from tracker.reports.where_from import print_uses, uses_json
    from tracker.services.uses import program_uses, tool_uses

    desk = frame.view()
    report = program_uses(desk, program) if program is not None else tool_uses(desk, tool or "")
    frame.answer("where", lambda: uses_json(report), lambda console: print_uses(report, console))
    return Exit.DONE
