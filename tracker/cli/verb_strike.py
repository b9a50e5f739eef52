"""``strike``: one line through a record of one's own."""

from typing import Annotated

import typer

from tracker.cli.frame import By, Frame, Json, Reason, Yes
from tracker.cli.options import At, moment


def command(
    ctx: typer.Context,
    record: Annotated[str, typer.Argument(metavar="RECORD", help="File name of the record, or its path.")],
    by: By = None,
    reason: Reason = None,
    at: At = None,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Put one line through a slip of your own: it stays legible and no longer counts."""
    from tracker.reports.acted import as_json, print_text
    from tracker.services.strike import strike

    frame = Frame.of(ctx, json=json, yes=yes)
    done = strike(frame.desk(), record, by=by, reason=reason, at=moment(at))
    frame.answer("strike", lambda: as_json(done), lambda console: print_text(done, console))
