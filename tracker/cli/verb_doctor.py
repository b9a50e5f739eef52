"""``doctor``: whether this PC and this clone are set up."""

from typing import Annotated

import typer

from tracker.cli.frame import Csv, Frame, Json
from tracker.errors import Exit


def command(
    ctx: typer.Context,
    server: Annotated[
        str | None,
        typer.Option("--server", metavar="BARE_REPO", help="Look at the repository everybody pushes to."),
    ] = None,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Look at every point of the set-up: on, off, or could not tell, with the fix."""
    from pathlib import Path

    from tracker.reports.doctor import as_json, print_text
    from tracker.services.doctor import doctor
    from tracker.services.install import must_be_bare
    from tracker.wiring import open_desk, open_setup

    frame = Frame.of(ctx, csv=csv, json=json)
    folder = frame.folder if server is None else str(Path(frame.folder) / server)
    setup = open_setup(folder)
    if server is not None:
        must_be_bare(setup)
    report = doctor(open_desk(folder), setup)
    frame.answer("doctor", lambda: as_json(report), lambda console: print_text(report, console))
    if report.off:
        return Exit.NO
    return Exit.COULD_NOT if report.unknown else Exit.DONE
