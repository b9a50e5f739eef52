"""``history``: what happened to a job, an operation, or on a machine; what stood on a day; where a block comes from."""

import re
from typing import Annotated

import typer

from tracker.cli.frame import Csv, Frame, Json, MachineOption
from tracker.cli.options import named_in
from tracker.errors import BadCall
from tracker.reports.history import as_json, print_text
from tracker.services.history import Filters, history

_LINE = re.compile(r"(?P<file>.+):(?P<line>[1-9][0-9]{0,8})")
_ALONE = "leave the other options out; of one machine that day: proveout where --machine ID --on DATE"


def command(
    ctx: typer.Context,
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="[JOB[/OP]|FILE:LINE]",
            help="Job or operation; without, everything. Or a block of a program.",
        ),
    ] = None,
    machine: MachineOption = None,
    person: Annotated[
        str | None, typer.Option("--person", metavar="INITIALS", help="Only what this person did or entered.")
    ] = None,
    event: Annotated[str | None, typer.Option("--event", metavar="EVENT", help="Only this event.")] = None,
    kind: Annotated[
        str | None, typer.Option("--kind", metavar="KIND", help="Only what changed so, like feed.")
    ] = None,
    since: Annotated[str | None, typer.Option("--since", metavar="DAY", help="From this day on.")] = None,
    until: Annotated[
        str | None, typer.Option("--until", metavar="DAY", help="To the end of this day.")
    ] = None,
    on: Annotated[
        str | None, typer.Option("--on", metavar="DAY", help="Instead: what stood and was released that day.")
    ] = None,
    people_on: Annotated[
        str | None,
        typer.Option("--people-on", metavar="DAY", help="Instead: who held which role and key that day."),
    ] = None,
    csv: Csv = False,
    json: Json = False,
) -> None:
    """Show what happened, oldest first; --on: what stood on a day; FILE:LINE: which revision brought a block in."""
    frame = Frame.of(ctx, json=json, csv=csv)
    filters = Filters(machine=machine, person=person, event=event, kind=kind, since=since, until=until)
    line = _LINE.fullmatch(name or "")
    instead = (("--on", on), ("--people-on", people_on), ("FILE:LINE", line))
    said = [option for option, value in instead if value is not None]
    if said and (len(said) > 1 or filters != Filters() or (people_on is not None and name is not None)):
        raise BadCall("wrong-call", f"{said[0]} goes alone", fix=_ALONE)
    if people_on is not None:
        _people(frame, people_on)
    elif line is not None:
        _block(frame, line["file"], int(line["line"]))
    elif on is not None:
        _on(frame, name, on)
    else:
        desk = frame.view()
        report = history(desk, named_in(frame, desk, name) if name else None, filters)
        frame.answer("history", lambda: as_json(report), lambda console: print_text(report, console))


def _people(frame: Frame, day: str) -> None:
    from tracker.reports.people import as_json, print_text
    from tracker.services.people_on import people_on

    report = people_on(frame.view(), day)
    frame.answer("history", lambda: as_json(report), lambda console: print_text(report, console))


def _on(frame: Frame, name: str | None, day: str) -> None:
    from tracker.reports.history_on import on_json, print_on
    from tracker.services.history_on import history_on

    desk = frame.view()
    report = history_on(desk, named_in(frame, desk, name) if name else None, day)
    frame.answer("history", lambda: on_json(report), lambda console: print_on(report, console))


def _block(frame: Frame, file: str, line: int) -> None:
    from tracker.reports.history_on import block_json, print_block
    from tracker.services.block_origin import block_origin
    from tracker.wiring import open_drawer

    desk, drawer = open_drawer(frame.folder, only_looks=True)
    path = drawer.place_of(file)
    if path is None:
        raise BadCall(
            "missing-file", "this file lies in no shop", where=file, fix="name a program of the shop"
        )
    report = block_origin(desk, path, line)
    frame.answer("history", lambda: block_json(report), lambda console: print_block(report, console))
