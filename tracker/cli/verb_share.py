"""``share``: fetch, bring together, push, release tags included."""

from typing import Annotated

import typer

from tracker.cli.frame import By, Frame, Json, Reason
from tracker.errors import Exit


def command(
    ctx: typer.Context,
    files: Annotated[
        list[str] | None, typer.Argument(metavar="[FILE]...", help="With --take: files both sides changed.")
    ] = None,
    take: Annotated[
        str | None,
        typer.Option(
            "--take", metavar="ours|theirs", help="Whose text counts: the one here, or the one there."
        ),
    ] = None,
    remote: Annotated[
        str | None,
        typer.Option("--remote", metavar="NAME", help="Which shared repository: its name or its address."),
    ] = None,
    by: By = None,
    reason: Reason = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", "-n", help="Look at what is there; change nothing here or there.")
    ] = False,
    json: Json = False,
) -> int:
    """Fetch what others recorded, bring both together, send what is new here; two edits of one file are never mixed."""
    from tracker.reports.share import as_json, print_text
    from tracker.services.share import share
    from tracker.services.share_asked import Asked
    from tracker.wiring import open_sharing

    frame = Frame.of(ctx, json=json)
    desk, shared = open_sharing(frame.folder, quiet=frame.quiet or frame.json)
    frame.at(desk)
    asked = Asked(take=take, files=tuple(files or ()), by=by, reason=reason, dry_run=dry_run)
    report = share(desk, shared, asked, remote=remote)
    frame.answer("share", lambda: as_json(report), lambda console: print_text(report, console))
    return Exit.DONE if report.complete else Exit.NO
