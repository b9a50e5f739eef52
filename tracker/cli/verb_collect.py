"""``collect``: what came home on a stick; edits made at the control taken in."""

import sys
from typing import Annotated

import typer

from tracker.cli import complete
from tracker.cli.frame import By, Csv, Frame, Json, Reason, Yes
from tracker.cli.options import named_in
from tracker.errors import BadCall, Exit


def command(
    ctx: typer.Context,
    folder: Annotated[str, typer.Argument(metavar="DIR", help="The stick, or a machine's folder on it.")],
    checkin: Annotated[
        str | None,
        typer.Option(
            "--checkin",
            metavar="JOB/OP",
            help="Take this operation's edited texts in.",
            autocompletion=complete.operations,
        ),
    ] = None,
    by: By = None,
    entered_by: Annotated[
        str | None, typer.Option("--entered-by", metavar="INITIALS", help="Who enters it, if not who edited.")
    ] = None,
    reason: Reason = None,
    cut: Annotated[
        bool | None, typer.Option("--cut/--not-cut", help="Whether parts were cut with the edit.")
    ] = None,
    tidy: Annotated[
        bool,
        typer.Option("--tidy", help="With --checkin: the office's way of writing around the same code."),
    ] = False,
    whole: Annotated[
        bool,
        typer.Option(
            "--whole", help="With --checkin: a text much shorter than it was is all the control holds."
        ),
    ] = False,
    effect: Annotated[
        bool, typer.Option("--effect", help="Of changed code say what it does, was and is, tool by tool.")
    ] = False,
    stick: Annotated[
        str | None,
        typer.Option("--stick", metavar="NAME", help="Name of the stick; else as its list or folder says."),
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", "-n", help="Only look; record nothing.")] = False,
    yes: Yes = False,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Say of every file on a stick what it is, and record that; ends with 1 while something is to be decided."""
    from tracker.cli.progress import progress
    from tracker.reports.collect import as_json, print_text
    from tracker.services.collect import Brought, collect
    from tracker.stick.layout import StickShaper
    from tracker.wiring import open_stick

    frame = Frame.of(ctx, json=json, yes=yes, csv=csv)
    if checkin is None and (tidy or whole):
        what = "--tidy" if tidy else "--whole"
        raise BadCall(
            "wrong-call", f"{what} goes with --checkin", fix="name what is to be taken in: --checkin JOB/OP"
        )
    desk = frame.desk()
    if checkin is not None and sys.stdin.isatty() and not frame.json:
        by = by or frame.ask("Who edited it? (initials)", flag="--by INITIALS")
        reason = reason or frame.ask("Why was it edited", flag='-m "..."')
        cut = _was_cut(frame) if cut is None and not frame.yes else cut
    named = named_in(frame, desk, checkin) if checkin is not None else None
    with progress(hidden=frame.json or frame.quiet) as tell:
        brought = Brought(
            stick=stick,
            by=by,
            entered_by=entered_by,
            reason=reason,
            cut=cut,
            checkin=named,
            dry_run=dry_run,
            tidy=tidy,
            whole=whole,
            effect=effect,
            tell=tell,
        )
        report = collect(desk, open_stick(frame.folder, folder, tell), StickShaper(), brought)
    frame.answer("collect", lambda: as_json(report), lambda console: print_text(report, console))
    return Exit.NO if report.undecided or report.asks else Exit.DONE


def _was_cut(frame: Frame) -> bool | None:
    """Whether parts were cut with the edit; None where the answer is neither yes nor no."""
    said = frame.ask("Were parts cut with it? (yes, no, unknown)", flag="--cut or --not-cut").strip().lower()
    return {"yes": True, "y": True, "no": False, "n": False}.get(said)
