"""``install``: set up this clone, or a server's bare repository, and take it away again."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from tracker.cli.frame import Frame, Json
from tracker.errors import BadCall


def command(
    ctx: typer.Context,
    server: Annotated[
        str | None,
        typer.Option("--server", metavar="BARE_REPO", help="Set up the repository everybody pushes to."),
    ] = None,
    shared: Annotated[
        bool, typer.Option("--shared", help="Several people use this PC: always ask who it is.")
    ] = False,
    machine: Annotated[
        str | None, typer.Option("--machine", metavar="ID", help="The machine this PC stands at.")
    ] = None,
    over: Annotated[
        str | None,
        typer.Option("--over", metavar="WAY", help="With --server: pushes come by ssh, https or folder."),
    ] = None,
    undo: Annotated[bool, typer.Option("--undo", help="Take away what install put here, only that.")] = False,
    json: Json = False,
) -> None:
    """Put the hook and the diff driver of git in place; what was there before is kept."""
    from tracker.cli.gate_push import begin_journal
    from tracker.reports.install import as_json, print_text
    from tracker.services import install as services
    from tracker.services.machine_named import machine_named
    from tracker.wiring import open_setup

    frame = Frame.of(ctx, json=json)
    for option, said in (("--shared", shared), ("--machine", machine is not None)):
        if said and (server is not None or undo):
            raise BadCall(
                "wrong-call", f"{option} goes with a plain install only", fix="leave the other one out"
            )
    if over is not None and (server is None or undo):
        raise BadCall("wrong-call", "--over goes with --server only", fix="leave one of them out")
    if server is not None:
        setup = open_setup(str(Path(frame.folder) / server))
        begin = partial(begin_journal, str(Path(frame.folder) / server))
        report = (
            services.undo_server(setup)
            if undo
            else services.install_server(setup, over=over, begin_journal=begin)
        )
    elif undo:
        report = services.undo(open_setup(frame.folder))
    else:
        known = None
        if machine is not None:
            known = machine_named(frame.desk().repo.tree().shop(), machine).id
        report = services.install(open_setup(frame.folder), shared=shared, machine=known)
    frame.answer("install", lambda: as_json(report), lambda console: print_text(report, console))
