"""``status``: how operations stand on machines today, and what may run."""

import sys
from collections.abc import Callable
from typing import Annotated, NoReturn

import typer

from tracker.cli import complete
from tracker.cli.frame import Csv, Frame, Json, MachineOption
from tracker.errors import BadCall, Exit
from tracker.reports.screen import Screen
from tracker.reports.status import as_json, print_text
from tracker.reports.table import say
from tracker.services.status import StatusReport, status


def command(
    ctx: typer.Context,
    may_run: Annotated[bool, typer.Option("--may-run", help="Only what may run today.")] = False,
    machine: MachineOption = None,
    job: Annotated[
        str | None, typer.Option("--job", metavar="JOB", help="Only this job.", autocompletion=complete.jobs)
    ] = None,
    standing: Annotated[
        str | None,
        typer.Option(
            "--standing",
            metavar="WORDS",
            help="Only what stands so: held, or held,rejected.",
            autocompletion=complete.standings,
        ),
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="Show every row, however many.")] = False,
    again: Annotated[
        bool, typer.Option("--watch", help="Look again every few seconds, until Ctrl-C.")
    ] = False,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Show every operation on every machine: revision, standing, release, what comes next."""
    frame = Frame.of(ctx, json=json, csv=csv)

    def look() -> StatusReport:
        return status(frame.view(), may_run=may_run, machine=machine, job=job, standing=standing)

    if again:
        _watch(frame, look)
    report = look()
    shown = everything or not sys.stdout.isatty()
    frame.answer(
        "status", lambda: as_json(report), lambda console: print_text(report, console, everything=shown)
    )
    if report.unreadable:
        return Exit.COULD_NOT
    return Exit.BAD_CALL if report.problems else Exit.DONE


def _watch(frame: Frame, look: Callable[[], StatusReport]) -> NoReturn:
    if frame.json or frame.csv:
        raise BadCall("wrong-call", "--watch is for a screen", fix="leave out --watch, or --json and --csv")
    from tracker.cli.watch import watch
    from tracker.reports.times import moment, zone

    def show(page: Screen) -> None:
        report = look()
        if not report.may_run:
            say(page, moment(report.now, zone(report.timezone)))
        print_text(report, page, everything=False)

    watch(frame.console(), show)
