"""``init``: make a shop of a folder of programs."""

from pathlib import Path
from typing import Annotated

import typer

from tracker.cli.frame import Frame, Json, Yes
from tracker.reports.init import as_json, print_text
from tracker.services.init import init


def command(
    ctx: typer.Context,
    folder: Annotated[str, typer.Argument(metavar="[DIR]", help="Folder of the programs.")] = ".",
    name: Annotated[str | None, typer.Option("--name", metavar="SHOP", help="Name of the shop.")] = None,
    alone: Annotated[bool, typer.Option("--alone", help="One person does everything here.")] = False,
    initials: Annotated[
        str | None, typer.Option("--initials", help="Initials of that person, else made from the name.")
    ] = None,
    timezone: Annotated[str, typer.Option("--timezone", metavar="ZONE", help="Like Europe/London.")] = "UTC",
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Start a shop's record in a folder; nothing that lies there is moved or changed."""
    from tracker.wiring import open_clock, open_folder

    frame = Frame.of(ctx, json=json, yes=yes)
    if name is None:
        name = frame.ask("Name of the shop", flag="--name SHOP")
    ground = open_folder(Path(frame.folder) / folder)
    report = init(ground, open_clock(), name=name, alone=alone, initials=initials, timezone=timezone)
    frame.answer("init", lambda: as_json(report), lambda console: print_text(report, console))
