"""``ran``: a run of a revision on a machine."""

from dataclasses import replace
from typing import Annotated

import typer

from tracker.cli.frame import By, Frame, Json, MachineOption, Reason, Yes
from tracker.cli.options import At, TargetOrStick, can_ask, meant_by, moment


def command(
    ctx: typer.Context,
    target: TargetOrStick,
    machine: MachineOption = None,
    by: By = None,
    lot: Annotated[str | None, typer.Option("--lot", help="Lot or order.")] = None,
    quantity: Annotated[int | None, typer.Option("--quantity", help="Pieces made.")] = None,
    serials: Annotated[list[str] | None, typer.Option("--serials", help="Serial numbers, A1,A2.")] = None,
    day: Annotated[
        str | None, typer.Option("--date", metavar="DAY", help="Day of the run, 2026-03-20; absent: today.")
    ] = None,
    first_piece: Annotated[
        str | None, typer.Option("--first-piece", metavar="TEXT", help="Measuring report of the first piece.")
    ] = None,
    reason: Reason = None,
    at: At = None,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Say that a revision was run, with lot, quantity and serials."""
    from tracker.cli.stick_dialog import how_it_went, initials, say_lot
    from tracker.reports.acted import as_json, print_text
    from tracker.reports.table import wrapped
    from tracker.services.ran import Run, before_asking, ran

    frame = Frame.of(ctx, json=json, yes=yes)
    desk = frame.desk()
    meant = meant_by(frame, desk, target, machine)
    run = Run(
        lot=lot,
        quantity=quantity,
        serials=serials or (),
        day=day,
        first_piece=first_piece,
        note=reason,
        at=moment(at),
    )
    if meant.files and can_ask(frame):
        with frame.busy(f"comparing {meant.files[0].name}"):
            said = before_asking(desk, meant.named, run, meant.files)
        for words in said if meant.stopped is None else ():
            wrapped(frame.console(error=True), words)
        by = initials(frame, desk, by)
        say_lot(frame, lot, serials)
        run = replace(run, note=how_it_went(reason))
    with frame.busy("recording the run"):
        done = ran(desk, meant.named, run, machine=meant.machine, by=by, files=meant.files)
    frame.answer("ran", lambda: as_json(done), lambda console: print_text(done, console))
