"""``witness``: one look of a second copy at the record it watches; meant to be run by the clock."""

from typing import Annotated

import typer

from tracker.cli.frame import Frame, Json
from tracker.errors import Exit


def command(
    ctx: typer.Context,
    folder: Annotated[
        str, typer.Argument(metavar="FOLDER", help="Where the second copy and its journal are.")
    ],
    source: Annotated[
        str | None,
        typer.Option("--from", metavar="REPO_OR_URL", help="What is watched; needed the first time only."),
    ] = None,
    json: Json = False,
) -> int:
    """Fetch what is new, follow no rewrite, derive every release again, write a line in the journal."""
    from pathlib import Path

    from tracker.cli.progress import progress
    from tracker.reports.witness import as_json, print_text
    from tracker.wiring_copies import look_once, open_watch

    frame = Frame.of(ctx, json=json)
    here = Path(frame.folder)
    if source is not None and (here / source).exists():
        source = str((here / source).absolute())
    with progress(hidden=json) as tell:
        report = look_once(open_watch(here / folder, source), tell)
    frame.answer("witness", lambda: as_json(report), lambda console: print_text(report, console))
    return Exit.NO if report.findings else Exit.DONE
