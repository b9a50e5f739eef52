"""``history``: what happened to a job, an operation, or on a machine."""

from typing import Annotated

import typer

from tracker.cli.frame import Frame, Json, MachineOption
from tracker.reports.history import as_json, print_text
from tracker.services.history import history
from tracker.services.naming import parse_named


def command(
    ctx: typer.Context,
    name: Annotated[
        str | None, typer.Argument(metavar="[JOB[/OP]]", help="Job or operation; without, everything.")
    ] = None,
    machine: MachineOption = None,
    person: Annotated[
        str | None, typer.Option("--person", metavar="INITIALS", help="Only what this person did or entered.")
    ] = None,
    event: Annotated[str | None, typer.Option("--event", metavar="EVENT", help="Only this event.")] = None,
    json: Json = False,
) -> None:
    """Show what happened, oldest first."""
    frame = Frame.of(ctx, json=json)
    report = history(
        frame.desk(),
        parse_named(name) if name else None,
        machine=machine,
        person=person,
        event=event,
    )
    frame.answer("history", lambda: as_json(report), lambda console: print_text(report, console))
