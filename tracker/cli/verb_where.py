"""``where``: the machines and sticks a revision reached, and its runs."""

import typer

from tracker.cli.frame import Csv, Frame, Json
from tracker.cli.options import Target, named_in
from tracker.errors import Exit
from tracker.reports.where import as_json, print_text
from tracker.services.where import where


def command(ctx: typer.Context, name: Target, csv: Csv = False, json: Json = False) -> int:
    """Show where a revision was written, seen, proved and run, and what no record can know."""
    frame = Frame.of(ctx, json=json, csv=csv)
    desk = frame.view()
    report = where(desk, named_in(frame, desk, name))
    frame.answer("where", lambda: as_json(report), lambda console: print_text(report, console))
    return Exit.COULD_NOT if report.unreadable else Exit.DONE
