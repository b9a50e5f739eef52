"""``withdraw``: recall a release."""

from typing import Annotated

import typer

from tracker.cli.frame import By, Frame, Json, Reason, Yes
from tracker.cli.options import At, moment, must_confirm
from tracker.errors import BadCall


def command(
    ctx: typer.Context,
    release: Annotated[str, typer.Argument(metavar="JOB@N", help="The release, like 4471@2.")],
    op: Annotated[
        list[str] | None, typer.Option("--op", metavar="OP", help="Only this operation; may be repeated.")
    ] = None,
    by: By = None,
    reason: Reason = None,
    at: At = None,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Recall a release: its texts may run nowhere any more, whatever else they are part of."""
    from tracker.reports.withdraw import as_json, print_text
    from tracker.services.release_named import release_named
    from tracker.services.withdraw import to_be_recalled, withdraw

    frame = Frame.of(ctx, json=json, yes=yes)
    named = release_named(release)
    if named is None:
        raise BadCall("bad-name", f"{release!r} does not name a release", fix="write it like 4471@2")
    desk = frame.desk()
    texts = to_be_recalled(desk, named, op or ())
    must_confirm(
        frame, f"Withdraw release {named.number} of {named.job}: {texts}? It may run nowhere any more."
    )
    done = withdraw(desk, named, by=by, reason=reason, operations=op or (), at=moment(at))
    frame.answer("withdraw", lambda: as_json(done), lambda console: print_text(done, console))
