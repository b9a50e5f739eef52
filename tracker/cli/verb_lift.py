"""``lift``: end a hold, or the withdrawal of a release."""

from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.frame import By, Frame, Json, MachineOption, Reason, Yes
from tracker.cli.options import At, MaybeTarget, moment, named_in, one_of

if TYPE_CHECKING:
    from datetime import datetime

    from tracker.services.acted import Acted
    from tracker.services.desk import Desk


def command(
    ctx: typer.Context,
    target: MaybeTarget = None,
    machine: MachineOption = None,
    check: Annotated[
        str | None, typer.Option("--check", metavar="TEXT", help="What was checked on the machine.")
    ] = None,
    by: By = None,
    reason: Reason = None,
    at: At = None,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """End a hold in the words it was made with; JOB@N ends the withdrawal of release N."""
    from tracker.reports.acted import as_json, print_text
    from tracker.services.lift import lift_machine

    frame = Frame.of(ctx, json=json, yes=yes)
    one_of(target, machine, {"--check": check})
    desk = frame.desk()
    if machine is not None:
        done = lift_machine(desk, machine, by=by, check=check, reason=reason, at=moment(at))
    else:
        done = _lift(frame, desk, target or "", by, reason, moment(at))
    frame.answer("lift", lambda: as_json(done), lambda console: print_text(done, console))


def _lift(
    frame: Frame, desk: "Desk", target: str, by: str | None, reason: str | None, at: "datetime | None"
) -> "Acted":
    from tracker.services.lift import lift, lift_withdrawal
    from tracker.services.release_named import release_named

    release = release_named(target)
    if release is not None:
        return lift_withdrawal(desk, release, by=by, reason=reason, at=at)
    return lift(desk, named_in(frame, desk, target), by=by, reason=reason, at=at)
