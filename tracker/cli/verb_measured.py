"""``measured``: the measuring result of a first piece that was waited for."""

from typing import Annotated

import typer

from tracker.cli.frame import By, Frame, Json, MachineOption, Reason, Yes
from tracker.cli.options import Accept, At, Reject, Target, machine_here, moment, named_in, result_of


def command(
    ctx: typer.Context,
    target: Target,
    machine: MachineOption = None,
    report: Annotated[
        str | None, typer.Option("--report", metavar="NO", help="Number of the measuring report.")
    ] = None,
    accept: Accept = False,
    reject: Reject = False,
    by: By = None,
    reason: Reason = None,
    at: At = None,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Say what measuring the first piece said."""
    from tracker.reports.acted import as_json, print_text
    from tracker.services.measured import measured

    frame = Frame.of(ctx, json=json, yes=yes)
    desk = frame.desk()
    done = measured(
        desk,
        named_in(frame, desk, target),
        machine=machine_here(frame, desk, machine),
        by=by,
        report=report,
        result=result_of(accept, reject),
        reason=reason,
        at=moment(at),
    )
    frame.answer("measured", lambda: as_json(done), lambda console: print_text(done, console))
