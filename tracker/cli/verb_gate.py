"""Help page of ``gate``; the work is done in the fast lane (`tracker.cli.fast_gate`)."""

from typing import Annotated

import typer

from tracker.cli.frame import Frame, Json


def command(
    ctx: typer.Context,
    question: Annotated[
        list[str] | None,
        typer.Argument(metavar="[REF OLD NEW]", help="A reference, its value before and after."),
    ] = None,
    local: Annotated[
        bool, typer.Option("--local", help="Lines OLD NEW REF on standard input: a change in this clone.")
    ] = False,
    push: Annotated[
        bool, typer.Option("--push", help="The same of a push into this repository, judged as a whole.")
    ] = False,
    ci: Annotated[
        bool, typer.Option("--ci", help="OLD NEW [REF]: a push a hosted repository has taken in already.")
    ] = False,
    journal: Annotated[
        bool, typer.Option("--journal", help="Whether the receive journal of this server is whole.")
    ] = False,
    json: Json = False,
) -> int:
    """Open (0) or stay closed (1, with every reason) for a change of release tags, or for a whole push."""
    from tracker.cli.fast import run

    frame = Frame.of(ctx, json=json)
    flags = ["--json"] * frame.json + ["--local"] * local + ["--push"] * push
    flags += ["--ci"] * ci + ["--journal"] * journal
    return run("gate", ["-C", frame.folder], [*flags, "--", *(question or [])])
