"""``audit``: whether the record is whole, and what in it does not hold; or one of the lists quality asks for."""

from typing import Annotated

import typer

from tracker.cli.frame import Csv, Frame, Json
from tracker.errors import Exit


def command(
    ctx: typer.Context,
    named: Annotated[
        str | None,
        typer.Option("--list", metavar="NAME", help="One list: same-person, carries, lapse, waivers, ..."),
    ] = None,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Look at every record, release and recorded text, through all of history; or show one list."""
    frame = Frame.of(ctx, json=json, csv=csv)
    if named is not None:
        return _listed(frame, named)
    from tracker.cli.progress import progress
    from tracker.reports.audit import as_json, print_text
    from tracker.services.audit import audit
    from tracker.wiring import open_evidence

    desk, evidence = open_evidence(frame.folder)
    with progress() as tell:
        report = audit(desk, evidence, tell)
    frame.answer("audit", lambda: as_json(report), lambda console: print_text(report, console))
    return Exit.NO if report.problems else Exit.DONE


def _listed(frame: Frame, named: str) -> int:
    from tracker.reports.audit import list_as_json, print_list
    from tracker.services.audit_lists import audit_list

    found = audit_list(frame.view(answers=False), named)
    frame.answer("audit", lambda: list_as_json(found), lambda console: print_list(found, console))
    return Exit.DONE
