"""Help page of ``normalize``; the work is done in the fast lane (`tracker.cli.fast_normalize`)."""

from typing import Annotated

import typer

from tracker.cli.frame import Frame


def command(
    ctx: typer.Context,
    file: Annotated[str, typer.Argument(metavar="FILE", help="A program; - is standard input.")],
    for_git: Annotated[
        bool, typer.Option("--for-git", help="With comments and a line on what is hidden.")
    ] = False,
    output: Annotated[
        str | None, typer.Option("-o", "--output", metavar="FILE", help="Write it there.")
    ] = None,
) -> int:
    """Print the canonical text of a program: what is compared, and what is hashed."""
    from tracker.cli.fast import run

    frame = Frame.of(ctx)
    flags = ["--for-git"] * for_git + (["-o", output] if output else [])
    return run("normalize", ["-C", frame.folder], [*flags, "--", file])
