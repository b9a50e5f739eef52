"""``countersign``: stand behind a proof as its second person."""

import typer

from tracker.cli.frame import By, Frame, Json, MachineOption, Reason, Yes
from tracker.cli.options import At, Target, moment, must_confirm, named_in


def command(
    ctx: typer.Context,
    target: Target,
    machine: MachineOption = None,
    by: By = None,
    reason: Reason = None,
    at: At = None,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Stand behind a proof whose prover also wrote the text."""
    from tracker.reports.acted import as_json, print_text
    from tracker.services.countersign import countersign

    frame = Frame.of(ctx, json=json, yes=yes)
    must_confirm(frame, f"Stand behind the proof of {target} on {machine}?")
    desk = frame.desk()
    done = countersign(
        desk, named_in(frame, desk, target), machine=machine, by=by, reason=reason, at=moment(at)
    )
    frame.answer("countersign", lambda: as_json(done), lambda console: print_text(done, console))
