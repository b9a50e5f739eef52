"""``verify``: a program against its setup sheet and its machine."""

from typing import Annotated

import typer

from tracker.cli.frame import Frame, Json, MachineOption
from tracker.errors import BadCall, Exit
from tracker.services.naming import parse_named


def command(
    ctx: typer.Context,
    name: Annotated[
        str | None, typer.Argument(metavar="JOB[/OP]", help="A job, or one operation of it, as it lies here.")
    ] = None,
    machine: MachineOption = None,
    listed: Annotated[bool, typer.Option("--list", help="List all rules instead.")] = False,
    json: Json = False,
) -> int:
    """Check a job's programs against setup sheet and machine."""
    from tracker.reports.verify import as_json, print_rules, print_text, rules_json
    from tracker.services.verify import verify

    frame = Frame.of(ctx, json=json)
    if listed:
        frame.answer("verify", rules_json, print_rules)
        return Exit.DONE
    if name is None:
        raise BadCall(
            "wrong-call", "what is to be checked?", fix="name JOB or JOB/OP, or say --list for all rules"
        )
    report = verify(frame.desk(), parse_named(name), machine)
    frame.answer("verify", lambda: as_json(report), lambda console: print_text(report, console))
    return Exit.NO if report.stops else Exit.DONE
