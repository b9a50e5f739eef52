"""``export``: programs onto a stick, for one machine: what may run there today, or one operation to be proved."""

from typing import Annotated

import typer

from tracker.cli.frame import By, Frame, Json, MachineOption, Yes
from tracker.cli.options import machine_here
from tracker.services.naming import parse_named


def command(
    ctx: typer.Context,
    to: Annotated[str, typer.Option("--to", metavar="DIR", help="The stick.")],
    jobs: Annotated[
        list[str] | None, typer.Argument(metavar="[JOB]...", help="Only these jobs.", show_default=False)
    ] = None,
    machine: MachineOption = None,
    for_proving: Annotated[
        str | None,
        typer.Option(
            "--for-proving", metavar="JOB/OP[@rN]", help="A text not proved yet, for its prove-out only."
        ),
    ] = None,
    stick: Annotated[
        str | None,
        typer.Option("--stick", metavar="NAME", help="Name of the stick; else that of its folder."),
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", "-n", help="Say what would be written.")] = False,
    by: By = None,
    yes: Yes = False,
    json: Json = False,
) -> int:
    """Write what is released and may run on a machine today to a stick."""
    from tracker.errors import BadCall
    from tracker.reports.export import as_json, print_text
    from tracker.services.export import export
    from tracker.services.export_proving import export_for_proving
    from tracker.services.export_write import Destination
    from tracker.stick.layout import StickShaper
    from tracker.wiring import open_stick

    frame = Frame.of(ctx, json=json, yes=yes)
    if for_proving is not None and jobs:
        raise BadCall(
            "wrong-call", "--for-proving names one operation; no JOB goes with it", fix="leave the JOB out"
        )
    desk = frame.desk()
    destination = Destination(
        medium=open_stick(frame.folder, to),
        shaper=StickShaper(),
        machine=machine_here(frame, desk, machine),
        by=by,
        stick=stick,
        dry_run=dry_run,
    )
    if for_proving is not None:
        report = export_for_proving(desk, destination, parse_named(for_proving))
    else:
        report = export(desk, destination, jobs or ())
    frame.answer("export", lambda: as_json(report), lambda console: print_text(report, console))
    return 1 if report.refused_jobs else 0
