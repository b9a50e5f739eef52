"""``new``: draft a job from its programs."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated

import typer

from tracker.cli.frame import Frame, Json, MachineOption, Yes
from tracker.cli.options import file_named, machine_here
from tracker.errors import BadCall
from tracker.reports.new import as_json, print_text
from tracker.services.naming import parse_named
from tracker.services.new import new
from tracker.services.new_places import Given
from tracker.services.tool_list import LEFT_OUT, ToolList, read_tool_list


def command(
    ctx: typer.Context,
    target: Annotated[
        str, typer.Argument(metavar="JOB[/OP]", help="Number of the new job, or a new operation.")
    ],
    files: Annotated[
        list[str], typer.Argument(metavar="FILE...", help="Its programs: main ones, and those they call.")
    ],
    machine: MachineOption = None,
    tools: Annotated[
        str | None, typer.Option("--tools", metavar="LIST.csv", help="Tool list from a spreadsheet.")
    ] = None,
    column: Annotated[
        list[str] | None,
        typer.Option(
            "--column", metavar="HEADING=KEY", help="What a heading of the list means; - leaves it out."
        ),
    ] = None,
    copy: Annotated[
        bool, typer.Option("--copy", help="Copy the programs into the job's folder; else they stay.")
    ] = False,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Draft a job's setup sheet from the programs themselves; nothing is written over."""
    from tracker.wiring import open_drawer

    frame = Frame.of(ctx, json=json, yes=yes)
    columns = _columns(column or ())
    if columns and tools is None:
        raise BadCall("wrong-call", "--column goes with --tools", fix="name the list with --tools LIST.csv")
    desk, drawer = open_drawer(frame.folder)
    given = [
        Given(name=name, data=file_named(frame, name), path=drawer.place_of(name))
        for name in dict.fromkeys(files)
    ]
    listed = _tool_list(frame, tools, columns)
    report = new(
        desk,
        drawer,
        parse_named(target),
        given,
        machine=machine_here(frame, desk, machine),
        tools=listed.tools,
        left_out=listed.left_out,
        copy=copy,
    )
    frame.answer("new", lambda: as_json(report), lambda console: print_text(report, console))


def _tool_list(frame: Frame, name: str | None, columns: Mapping[str, str]) -> ToolList:
    if name is None:
        return ToolList(tools={}, left_out=())

    def ask(heading: str, keys: Sequence[str]) -> str:
        choices = ", ".join(keys)
        said = frame.ask(
            f"Column {heading!r} of the tool list: {choices}, or {LEFT_OUT} to leave it out",
            flag=f'--column "{heading}={keys[0]}"',
        ).strip()
        if said not in (*keys, LEFT_OUT):
            raise BadCall("csv-heading", f"{said!r} is none of {choices}", where=name, fix="run it again")
        return said

    return read_tool_list(file_named(frame, name), Path(name).name, columns=columns, ask=ask)


def _columns(said: Sequence[str]) -> dict[str, str]:
    """``HEADING=KEY`` as typed; raises BadCall (``wrong-call``)."""
    found = {}
    for one in said:
        heading, equals, key = one.rpartition("=")
        if not equals or not heading.strip() or not key.strip():
            raise BadCall("wrong-call", f"--column {one!r}", fix='write it like --column "Length=stick_out"')
        found[heading.strip()] = key.strip()
    return found
