"""``collect``: what came home on a stick; edits made at the control taken in."""

import sys
from typing import Annotated

import typer

from tracker.cli.frame import By, Csv, Frame, Json, Reason, Yes
from tracker.services.naming import parse_named


def command(
    ctx: typer.Context,
    folder: Annotated[str, typer.Argument(metavar="DIR", help="The stick, or a machine's folder on it.")],
    checkin: Annotated[
        str | None, typer.Option("--checkin", metavar="JOB/OP", help="Take this operation's edited texts in.")
    ] = None,
    by: By = None,
    entered_by: Annotated[
        str | None, typer.Option("--entered-by", metavar="INITIALS", help="Who enters it, if not who edited.")
    ] = None,
    reason: Reason = None,
    cut: Annotated[
        bool | None, typer.Option("--cut/--not-cut", help="Whether parts were cut with the edit.")
    ] = None,
    stick: Annotated[
        str | None,
        typer.Option("--stick", metavar="NAME", help="Name of the stick; else as its list or folder says."),
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", "-n", help="Only look; record nothing.")] = False,
    exit_code: Annotated[
        bool,
        typer.Option("--exit-code", help="End with 1 unless every file is as exported or the same code."),
    ] = False,
    yes: Yes = False,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Say of every file on a stick what it is, and record that."""
    from tracker.reports.collect import as_json, print_text
    from tracker.services.collect import Brought, collect
    from tracker.stick.layout import StickShaper
    from tracker.wiring import open_stick

    frame = Frame.of(ctx, json=json, yes=yes, csv=csv)
    desk = frame.desk()
    if checkin is not None and sys.stdin.isatty() and not frame.json:
        by = by or frame.ask("Who edited it? (initials)", flag="--by INITIALS")
        reason = reason or frame.ask("Why?", flag='-m "..."')
        cut = _was_cut(frame) if cut is None and not frame.yes else cut
    brought = Brought(
        stick=stick,
        by=by,
        entered_by=entered_by,
        reason=reason,
        cut=cut,
        checkin=parse_named(checkin) if checkin is not None else None,
        dry_run=dry_run,
    )
    report = collect(desk, open_stick(frame.folder, folder), StickShaper(), brought)
    frame.answer("collect", lambda: as_json(report), lambda console: print_text(report, console))
    return 1 if exit_code and not report.all_fine else 0


def _was_cut(frame: Frame) -> bool | None:
    """Whether parts were cut with the edit; None where the answer is neither yes nor no."""
    said = frame.ask("Were parts cut with it? (yes, no, unknown)", flag="--cut or --not-cut").strip().lower()
    return {"yes": True, "y": True, "no": False, "n": False}.get(said)
