"""``review``: sign that the differences of a revision were read."""

import typer

from tracker.cli.frame import By, Frame, Json, Reason, Yes
from tracker.cli.options import At, Target, moment, must_confirm, named_in


def command(
    ctx: typer.Context,
    target: Target,
    by: By = None,
    reason: Reason = None,
    at: At = None,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Read how a revision differs from what it came from, and sign that a proof may carry over."""
    from tracker.reports.acted import as_json, print_text
    from tracker.reports.compare import print_text as print_difference
    from tracker.services.review import begin, differences, review

    frame = Frame.of(ctx, json=json, yes=yes)
    desk = frame.desk()
    named = named_in(frame, desk, target)
    if not frame.yes:
        begin(desk, named, by=by)  # nobody reads what is not theirs to sign
        console = frame.console(error=True)
        for one in differences(desk, named):
            print_difference(one, console)
    must_confirm(frame, "You have read these differences, and a proof may carry over?")
    done = review(desk, named, by=by, reason=reason, at=moment(at))
    frame.answer("review", lambda: as_json(done), lambda console: print_text(done, console))
