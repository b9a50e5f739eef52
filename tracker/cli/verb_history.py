"""``history``: what happened to a job, an operation, or on a machine."""

from typing import Annotated

import typer

from tracker.cli.frame import Csv, Frame, Json, MachineOption
from tracker.errors import BadCall
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
    people_on: Annotated[
        str | None,
        typer.Option("--people-on", metavar="DAY", help="Instead: who held which role and key that day."),
    ] = None,
    csv: Csv = False,
    json: Json = False,
) -> None:
    """Show what happened, oldest first; --people-on: who was who on a day."""
    frame = Frame.of(ctx, json=json, csv=csv)
    if people_on is not None:
        if any(said is not None for said in (name, machine, person, event)):
            raise BadCall("wrong-call", "--people-on goes alone", fix="leave the other words out")
        _people(frame, people_on)
        return
    report = history(
        frame.desk(),
        parse_named(name) if name else None,
        machine=machine,
        person=person,
        event=event,
    )
    frame.answer("history", lambda: as_json(report), lambda console: print_text(report, console))


def _people(frame: Frame, day: str) -> None:
    from tracker.reports.people import as_json, print_text
    from tracker.services.people_on import people_on

    report = people_on(frame.desk(), day)
    frame.answer("history", lambda: as_json(report), lambda console: print_text(report, console))
