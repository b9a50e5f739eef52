"""``release``: make a release of a job, or say why it cannot be made."""

from typing import Annotated

import typer

from tracker.cli import complete
from tracker.cli.frame import By, Frame, Json, Reason, Yes
from tracker.cli.options import must_confirm
from tracker.services.naming import parse_named


def command(
    ctx: typer.Context,
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job, whole.", autocompletion=complete.jobs)],
    by: By = None,
    reason: Reason = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", "-n", help="Say what would be released; write nothing.")
    ] = False,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Tag a state in which every operation of the job stands; else every reason, and what would clear it."""
    from tracker.reports.release import as_json, print_text
    from tracker.services.release import release
    from tracker.wiring import open_sharing

    frame = Frame.of(ctx, json=json, yes=yes)
    desk, shared = open_sharing(frame.folder, quiet=frame.quiet or frame.json)
    frame.at(desk)
    named = parse_named(job)
    if not dry_run and not frame.yes:
        plan = release(desk, named, by=by, reason=reason, dry_run=True)
        print_text(plan, frame.console(error=True))
        must_confirm(frame, f"Release {plan.job} as number {plan.number}?")
    done = release(desk, named, by=by, reason=reason, dry_run=dry_run, shared=shared)
    frame.answer("release", lambda: as_json(done), lambda console: print_text(done, console))
