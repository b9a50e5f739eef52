"""``status``: how operations stand on machines today, and what may run."""

from typing import Annotated

import typer

from tracker.cli.frame import Csv, Frame, Json, MachineOption
from tracker.errors import Exit
from tracker.reports.status import as_json, print_text
from tracker.services.status import status


def command(
    ctx: typer.Context,
    may_run: Annotated[bool, typer.Option("--may-run", help="Only what may run today.")] = False,
    machine: MachineOption = None,
    job: Annotated[str | None, typer.Option("--job", metavar="JOB", help="Only this job.")] = None,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Show every operation on every machine: revision, standing, release, what comes next."""
    frame = Frame.of(ctx, json=json, csv=csv)
    report = status(frame.view(), may_run=may_run, machine=machine, job=job)
    frame.answer("status", lambda: as_json(report), lambda console: print_text(report, console))
    if report.unreadable:
        return Exit.COULD_NOT
    return Exit.BAD_CALL if report.problems else Exit.DONE
