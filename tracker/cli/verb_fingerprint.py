"""Help page of ``fingerprint``; the work is done in the fast lane (`tracker.cli.fast_fingerprint`)."""

from typing import Annotated

import typer

from tracker.cli.frame import Frame, Json


def command(
    ctx: typer.Context,
    files: Annotated[list[str], typer.Argument(metavar="FILE...", help="Programs; - is standard input.")],
    strict: Annotated[bool, typer.Option("--strict", help="Every line number counts as code.")] = False,
    json: Json = False,
) -> int:
    """Print the fingerprint of programs, anywhere, without a repository."""
    from tracker.cli.fast import run

    frame = Frame.of(ctx, json=json)
    flags = ["--json"] * frame.json + ["--strict"] * strict
    return run("fingerprint", ["-C", frame.folder], [*flags, "--", *files])
