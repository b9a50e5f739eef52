"""``backup``: the whole record as one file on another disk, or a drill that restores one."""

from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.frame import Frame, Json
from tracker.errors import BadCall, Exit

if TYPE_CHECKING:
    from pathlib import Path


def command(
    ctx: typer.Context,
    to: Annotated[
        str | None, typer.Option("--to", metavar="FOLDER", help="Where to: another disk, or another PC.")
    ] = None,
    drill: Annotated[
        str | None,
        typer.Option(
            "--drill", metavar="FILE", help="Restore this backup for a try and audit what comes out."
        ),
    ] = None,
    json: Json = False,
) -> int:
    """Write everything git keeps into one file and read it back, with words beside it how to restore it."""
    from pathlib import Path

    frame = Frame.of(ctx, json=json)
    if (to is None) == (drill is None):
        fix = "proveout backup --to FOLDER, or proveout backup --drill FILE"
        raise BadCall("wrong-call", "say where to, or which backup is to be tried", fix=fix)
    if drill is not None:
        return _drill(frame, Path(frame.folder) / drill)
    from tracker.reports.backup import as_json, print_text
    from tracker.services.backup import backup
    from tracker.wiring_copies import open_vault

    desk, vault = open_vault(frame.folder, Path(frame.folder) / (to or ""))
    report = backup(desk, vault)
    frame.answer("backup", lambda: as_json(report), lambda console: print_text(report, console))
    return Exit.DONE


def _drill(frame: Frame, file: "Path") -> int:
    from tracker.cli.progress import progress
    from tracker.reports.backup import drill_as_json, print_drill
    from tracker.services.audit import audit
    from tracker.wiring_copies import open_restored

    with open_restored(file) as (desk, evidence), progress(hidden=frame.json) as tell:
        report = audit(desk, evidence, tell)
    frame.answer("backup", lambda: drill_as_json(file, report), lambda at: print_drill(file, report, at))
    return Exit.NO if report.broken else Exit.DONE
