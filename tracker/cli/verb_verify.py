"""``verify``: a program against its setup sheet and its machine."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli import complete
from tracker.cli.frame import Csv, Frame, Json, MachineOption
from tracker.errors import BadCall, Exit
from tracker.reports.table import say, visible
from tracker.services.named_by_id import lies_here
from tracker.services.naming import Named

if TYPE_CHECKING:
    from tracker.services.desk import Desk


def command(
    ctx: typer.Context,
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="JOB[/OP]",
            help="A job, or one operation of it, as it lies here.",
            autocompletion=complete.operations,
        ),
    ] = None,
    machine: MachineOption = None,
    listed: Annotated[bool, typer.Option("--list", help="List all rules instead.")] = False,
    fix: Annotated[
        str | None,
        typer.Option(
            "--fix", metavar="precalls", help="Write the program with its pre-calls beside the original."
        ),
    ] = None,
    in_place: Annotated[
        bool, typer.Option("--in-place", help="With --fix: write over the original.")
    ] = False,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Check a job's programs against setup sheet and machine."""
    from tracker.cli.progress import progress
    from tracker.reports.verify import as_json, print_rules, print_text, rules_json
    from tracker.services.verify import verify

    frame = Frame.of(ctx, json=json, csv=csv)
    if listed:
        frame.answer("verify", rules_json, print_rules)
        return Exit.DONE
    if name is None:
        raise BadCall(
            "wrong-call", "what is to be checked?", fix="name JOB or JOB/OP, or say --list for all rules"
        )
    if fix is not None or in_place:
        return _fix(frame, name, fix, machine, in_place=in_place)
    desk = frame.desk()
    named = _named(frame, desk, name)
    with progress(hidden=json) as tell:
        report = verify(desk, named, machine, tell)
    frame.answer("verify", lambda: as_json(report), lambda console: print_text(report, console))
    return Exit.NO if report.stops else Exit.DONE


def _named(frame: Frame, desk: "Desk", text: str) -> Named:
    """What lies here; by an id only while it is the text of that id, which is then said."""
    found = lies_here(desk, text)
    if found.says is not None and not (frame.quiet or frame.json):
        say(frame.console(error=True), visible(found.says))
    return found.named


def _fix(frame: Frame, name: str, what: str | None, machine: str | None, *, in_place: bool) -> int:
    """Write what can be put right by rote; raises BadCall (``wrong-call``) for anything else."""
    if what != "precalls":
        raise BadCall(
            "wrong-call",
            "--in-place goes with --fix" if what is None else f"--fix knows nothing of {what!r}",
            fix="proveout verify JOB/OP --fix precalls",
        )
    from tracker.reports.precalls import as_json, print_text
    from tracker.services.precalls import precalls
    from tracker.store.work_tree import write_file

    desk = frame.desk()
    report = precalls(desk, _named(frame, desk, name), machine, in_place=in_place)
    if report.path is not None and not report.there:
        write_file(Path(desk.repo.root), report.path, report.data)
    frame.answer("verify", lambda: as_json(report), lambda console: print_text(report, console))
    return Exit.DONE
