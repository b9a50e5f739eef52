"""``hold``: stop the use of a revision, an operation or a machine."""

from typing import Annotated

import typer

from tracker.cli.frame import By, Frame, Json, MachineOption, Reason, Yes
from tracker.cli.options import At, MaybeTarget, moment, named_in, one_of


def command(
    ctx: typer.Context,
    target: MaybeTarget = None,
    machine: MachineOption = None,
    because: Annotated[
        str | None,
        typer.Option("--because", help="What happened to the machine: crash, repair, control-update, moved."),
    ] = None,
    by: By = None,
    reason: Reason = None,
    at: At = None,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Stop use at once, until quality lifts it."""
    from tracker.reports.acted import as_json, print_text
    from tracker.services.hold import hold, hold_machine

    frame = Frame.of(ctx, json=json, yes=yes)
    one_of(target, machine, {"--because": because})
    if machine is not None:
        done = hold_machine(frame.desk(), machine, by=by, because=because, reason=reason, at=moment(at))
    else:
        desk = frame.desk()
        done = hold(desk, named_in(frame, desk, target or ""), by=by, reason=reason, at=moment(at))
    frame.answer("hold", lambda: as_json(done), lambda console: print_text(done, console))
