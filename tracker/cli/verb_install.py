"""``install``: set up this clone, or a server's bare repository, and take it away again."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.frame import By, Frame, Json
from tracker.errors import BadCall, ProveoutError

if TYPE_CHECKING:
    from tracker.services.desk import Desk
    from tracker.services.install import InstallReport
    from tracker.services.install_signing import KeyGiven


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
    by: By = None,
    key: Annotated[
        str | None,
        typer.Option("--key", metavar="FILE", help="SSH key that signs what this person records here."),
    ] = None,
    undo: Annotated[bool, typer.Option("--undo", help="Take away what install put here, only that.")] = False,
    json: Json = False,
) -> None:
    """Put the hook and the diff driver of git in place; what was there before is kept."""
    from tracker.reports.install import as_json, print_text
    from tracker.services import install as services
    from tracker.services.install_signing import undo_signing, with_signing
    from tracker.services.machine_named import machine_named
    from tracker.wiring import open_desk, open_setup

    frame = Frame.of(ctx, json=json)
    key = key or frame.key  # options of every verb are taken off before
    for option, said in (
        ("--shared", shared),
        ("--machine", machine is not None),
        ("--key", key is not None),
    ):
        if said and (server is not None or undo):
            raise BadCall(
                "wrong-call", f"{option} goes with a plain install only", fix="leave the other one out"
            )
    if over is not None and (server is None or undo):
        raise BadCall("wrong-call", "--over goes with --server only", fix="leave one of them out")
    if server is not None:
        report = _of_server(frame.folder, server, over, undo=undo)
    elif undo:
        setup = open_setup(frame.folder)
        report = services.undo(setup, [*undo_signing(setup)])
    else:
        desk, setup, known = open_desk(frame.folder), open_setup(frame.folder), None
        if machine is not None:
            known = machine_named(desk.repo.tree().shop(), machine).id
        given = _given(frame, desk, by, key)
        if given is not None:
            setup.key_line(given.path)
        report = with_signing(services.install(setup, shared=shared, machine=known), desk, setup, given)
    frame.answer("install", lambda: as_json(report), lambda console: print_text(report, console))


def _of_server(folder: str, server: str, over: str | None, *, undo: bool) -> "InstallReport":
    from tracker.cli.gate_push import begin_journal
    from tracker.services import install as services
    from tracker.wiring import open_setup

    setup = open_setup(str(Path(folder) / server))
    if undo:
        return services.undo_server(setup)
    begin = partial(begin_journal, str(Path(folder) / server))
    return services.install_server(setup, over=over, main=_branch_in_hand(folder), begin_journal=begin)


def _given(frame: Frame, desk: "Desk", by: str | None, key: str | None) -> "KeyGiven | None":
    """The key named, and whose it is; raises BadCall (``who``, ``unknown-person``, ``wrong-call``)."""
    from tracker.services.desk import acting
    from tracker.services.install_signing import KeyGiven

    if key is None:
        if by is not None:
            raise BadCall(
                "wrong-call", "--by goes with --key only", fix="name the file of the key with --key"
            )
        return None
    path = (Path(frame.folder) / Path(key).expanduser()).resolve()
    return KeyGiven(person=acting(desk, desk.repo.tree().shop(), by), path=str(path))


def _branch_in_hand(folder: str) -> str | None:
    """The branch of the clone this call is made in; None where it is made elsewhere."""
    from tracker.wiring import open_setup

    try:
        setup = open_setup(folder)
        return None if setup.bare else setup.branches()[0] or None
    except ProveoutError:
        return None
