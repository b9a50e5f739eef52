"""``export``: programs onto a stick, for one machine: what may run there today, or one operation to be proved."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli import complete
from tracker.cli.frame import By, Csv, Frame, Json, MachineOption, Reason, Yes
from tracker.cli.options import machine_here, named_in
from tracker.errors import BadCall, Exit
from tracker.services.stick_view import known_stick

if TYPE_CHECKING:
    from tracker.records.shop import Stick
    from tracker.services.desk import Desk


def command(
    ctx: typer.Context,
    jobs: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[JOB]...", help="Only these jobs.", show_default=False, autocompletion=complete.jobs
        ),
    ] = None,
    machine: MachineOption = None,
    to: Annotated[
        str | None,
        typer.Option("--to", metavar="DIR", help="The stick; else --stick finds one of shop.toml."),
    ] = None,
    for_proving: Annotated[
        str | None,
        typer.Option(
            "--for-proving",
            metavar="JOB/OP[@rN]",
            help="A text not proved yet, for its prove-out only.",
            autocompletion=complete.operations,
        ),
    ] = None,
    deviation: Annotated[
        str | None,
        typer.Option(
            "--deviation",
            metavar="JOB/OP[@rN]",
            help="An emergency: a text without standing; needs -m.",
            autocompletion=complete.operations,
        ),
    ] = None,
    reason: Reason = None,
    hours: Annotated[
        int | None,
        typer.Option("--hours", metavar="N", help="How long the deviation lasts; else as policy has it."),
    ] = None,
    lot: Annotated[
        str | None, typer.Option("--lot", metavar="LOT", help="The lot the deviation is for.")
    ] = None,
    stick: Annotated[
        str | None,
        typer.Option("--stick", metavar="NAME", help="Name of the stick; without --to it is looked for."),
    ] = None,
    mirror: Annotated[
        bool, typer.Option("--mirror", help="Take off what of ours is not in the set for the machine.")
    ] = False,
    with_sheets: Annotated[
        bool, typer.Option("--with-sheets", help="Lay the setup sheet of each operation beside the programs.")
    ] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", "-n", help="Say what would be written.")] = False,
    by: By = None,
    yes: Yes = False,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Write what is released and may run on a machine today to a stick."""
    from tracker.cli.progress import progress
    from tracker.cli.stick_papers import papers_with
    from tracker.reports.export import as_json, print_text
    from tracker.services.export import export
    from tracker.services.export_deviation import Emergency, export_deviation
    from tracker.services.export_proving import export_for_proving
    from tracker.services.outbound import Destination
    from tracker.stick.layout import StickShaper
    from tracker.wiring import open_stick

    frame = Frame.of(ctx, csv=csv, json=json, yes=yes)
    _sensible(jobs or (), for_proving, deviation, only_deviation=(reason, hours, lot), mirror=mirror)
    emergency = Emergency(reason=reason, hours=hours, lot=lot)
    with progress(hidden=frame.json or frame.quiet) as tell:
        desk = frame.desk()
        place = _place(frame, desk, to, stick)
        destination = Destination(
            medium=open_stick(frame.folder, place, tell, forget=True),
            shaper=StickShaper(tell),
            machine=machine_here(frame, desk, machine),
            by=by,
            stick=stick or (None if isinstance(place, str) else place.name),
            dry_run=dry_run,
            papers=papers_with(desk, tell, sheets=with_sheets),
            tell=tell,
        )
        if deviation is not None:
            report = export_deviation(desk, destination, named_in(frame, desk, deviation), emergency)
        elif for_proving is not None:
            report = export_for_proving(desk, destination, named_in(frame, desk, for_proving))
        else:
            report = export(desk, destination, jobs or (), mirror=mirror)
    frame.answer("export", lambda: as_json(report), lambda console: print_text(report, console))
    return Exit.NO if report.decisions else Exit.DONE


def _place(frame: Frame, desk: "Desk", to: str | None, stick: str | None) -> "str | Stick":
    """Where the stick is: the folder named, else the stick of shop.toml; raises BadCall (``wrong-call``, ...).

    ``--to`` with the name of a stick of shop.toml means that stick, where no folder is called so; and so does the folder
    that shop.toml says it is.
    """
    if to is not None:
        shop, folder = desk.repo.tree().shop(), Path(frame.folder)
        if not (folder / to).exists():
            return shop.stick(to) or to
        there = (folder / to).resolve()
        return next((one for one in shop.sticks if one.path and (folder / one.path).resolve() == there), to)
    if stick is None:
        raise BadCall(
            "wrong-call",
            "onto which stick?",
            fix="name its folder, --to DIR, or a stick of shop.toml, --stick NAME",
        )
    return known_stick(desk.repo.tree().shop(), stick)


def _sensible(
    jobs: Sequence[str],
    for_proving: str | None,
    deviation: str | None,
    *,
    only_deviation: Sequence[object],
    mirror: bool,
) -> None:
    """Raise BadCall (``wrong-call``) for options that do not go together."""
    named = [
        name
        for name, said in (("--for-proving", for_proving), ("--deviation", deviation))
        if said is not None
    ]
    if len(named) > 1:
        raise BadCall(
            "wrong-call", "--for-proving and --deviation do not go together", fix="leave one of them out"
        )
    if named and jobs:
        raise BadCall(
            "wrong-call", f"{named[0]} names one operation; no JOB goes with it", fix="leave the JOB out"
        )
    if mirror and (jobs or named):
        raise BadCall(
            "wrong-call",
            "--mirror is about all that may run on the machine",
            fix="leave --mirror out" if named else "leave the names out",
        )
    if deviation is None and any(said is not None for said in only_deviation):
        raise BadCall("wrong-call", "-m, --hours and --lot go with --deviation", fix="leave them out")
