"""``audit``: whether the record is whole, and what in it does not hold."""

import typer

from tracker.cli.frame import Frame, Json
from tracker.errors import Exit


def command(ctx: typer.Context, json: Json = False) -> int:
    """Look at every record, release and recorded text, through all of history."""
    from tracker.reports.audit import as_json, print_text
    from tracker.services.audit import audit
    from tracker.wiring import open_evidence

    frame = Frame.of(ctx, json=json)
    desk, evidence = open_evidence(frame.folder)
    report = audit(desk, evidence)
    frame.answer("audit", lambda: as_json(report), lambda console: print_text(report, console))
    return Exit.NO if report.problems else Exit.DONE
