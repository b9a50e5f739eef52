"""``identify``: what a file is, and whether it may run here."""

from typing import Annotated

import typer

from tracker.cli.frame import Csv, Frame, Json, MachineOption
from tracker.cli.options import file_named


def command(
    ctx: typer.Context,
    files: Annotated[list[str], typer.Argument(metavar="FILE...", help="Files, wherever they lie.")],
    machine: MachineOption = None,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Say of every file which revision it is; ends with 0 only if all of them may run on the machine."""
    from tracker.cli.progress import progress
    from tracker.reports.identify import as_json, print_text
    from tracker.services.identify import NamedFile, identify
    from tracker.services.progress import told
    from tracker.stick.layout import StickShaper

    frame = Frame.of(ctx, json=json, csv=csv)
    desk = frame.desk()
    with progress(hidden=frame.json or frame.quiet) as tell:
        each = told(files, lambda name: f"reading {name}", tell)
        named = [NamedFile(name=name, data=file_named(frame, name, tell)) for name in each]
        report = identify(desk, StickShaper(), named, machine, tell)
    frame.answer("identify", lambda: as_json(report), lambda console: print_text(report, console))
    return 0 if report.all_may_run else 1
