"""``adopt``: look through folders of old programs, or take in what a plan says."""

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from tracker.cli.frame import By, Csv, Frame, Json, Reason, Yes
from tracker.cli.options import file_named, write_new_bytes
from tracker.cli.progress import progress
from tracker.errors import BadCall
from tracker.reports.adopt import applied_json, as_json, print_applied, print_text
from tracker.reports.adopt_history import history_json, print_history
from tracker.services.adopt import adopt
from tracker.services.adopt_apply import apply_plan
from tracker.services.adopt_history import adopt_history
from tracker.services.adopt_plan import plan_bytes, read_plan


def command(
    ctx: typer.Context,
    folder: Annotated[
        str | None, typer.Argument(metavar="[DIR]", help="Folder of the old programs; the office's first.")
    ] = None,
    also: Annotated[
        list[str] | None,
        typer.Option("--also", metavar="DIR", help="Another folder, like a control's backup."),
    ] = None,
    plan: Annotated[
        str | None, typer.Option("--plan", metavar="PLAN.csv", help="Write the plan to this new file.")
    ] = None,
    apply: Annotated[
        str | None, typer.Option("--apply", metavar="PLAN.csv", help="Take in what this plan says yes to.")
    ] = None,
    history: Annotated[
        bool,
        typer.Option(
            "--history", help="Also a revision of each old commit that changed code, from before the record."
        ),
    ] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", "-n", help="With --history alone: write nothing, say what it would.")
    ] = False,
    reason: Reason = None,
    by: By = None,
    yes: Yes = False,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Take in the programs a shop has already: first a plan to read and change, then all of it in one commit."""
    frame = Frame.of(ctx, json=json, yes=yes, csv=csv)
    if history and folder is None and apply is None and not (also or plan):
        return _history(frame, by, reason, dry_run=dry_run)
    if (folder is None) == (apply is None) or dry_run or (history and apply is None):
        raise BadCall(
            "wrong-call",
            "what is meant?",
            fix="name a folder to look through, or a plan with --apply; --history goes with --apply or alone, "
            "--dry-run with --history alone",
        )
    if apply is not None:
        return _apply(frame, apply, by, reason, clash=bool(also or plan), history=history)
    return _look(frame, [folder or ".", *(also or ())], plan)


def _look(frame: Frame, names: list[str], plan: str | None) -> int:
    from tracker.wiring import open_old_folders

    desk, folders = open_old_folders(frame.folder, names)
    if plan is not None and (Path(frame.folder) / plan).exists():
        raise BadCall("file-exists", "there is such a file already", where=plan, fix="choose another name")
    with progress(hidden=frame.json) as tell:
        report = adopt(desk, folders, tell=tell)
    if plan is not None:
        write_new_bytes(frame, plan, plan_bytes(report.rows))
        report = replace(report, plan=plan)
    frame.answer("adopt", lambda: as_json(report), lambda console: print_text(report, console))
    return 0


def _history(frame: Frame, by: str | None, reason: str | None, *, dry_run: bool) -> int:
    from tracker.wiring import open_past

    desk, past = open_past(frame.folder)
    with progress(hidden=frame.json) as tell:
        report = adopt_history(desk, past, by=by, reason=reason, dry_run=dry_run, tell=tell)
    frame.answer("adopt", lambda: history_json(report), lambda console: print_history(report, console))
    return 0


def _apply(frame: Frame, plan: str, by: str | None, reason: str | None, *, clash: bool, history: bool) -> int:
    from tracker.wiring import open_drawer, open_past

    if clash:
        raise BadCall("wrong-call", "--apply takes a plan only", fix="make the plan in a call of its own")
    desk, drawer = open_drawer(frame.folder)
    rows = read_plan(file_named(frame, plan), Path(plan).name)
    with progress(hidden=frame.json) as tell:
        report = apply_plan(
            desk,
            drawer,
            rows,
            Path(plan).name,
            lambda name: file_named(frame, name),
            by=by,
            reason=reason,
            past=open_past(frame.folder)[1] if history else None,
            tell=tell,
        )
    frame.answer("adopt", lambda: applied_json(report), lambda console: print_applied(report, console))
    return 0
