"""``show``: one revision with everything recorded about it, or its bytes."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from tracker.cli import complete
from tracker.cli.fast_files import file_error
from tracker.cli.frame import Csv, Frame, Json, Yes
from tracker.cli.options import named_in
from tracker.cli.sheet_file import put_whole
from tracker.errors import BadCall, Refused
from tracker.reports.show import as_json, print_text
from tracker.reports.table import say, visible
from tracker.services.show import ShowReport, main_program, show


def command(
    ctx: typer.Context,
    name: Annotated[
        str,
        typer.Argument(
            metavar="JOB/OP[@rN]",
            help="A revision; without @rN the newest.",
            autocompletion=complete.operations,
        ),
    ],
    output: Annotated[
        str | None,
        typer.Option(
            "-o", "--output", metavar="FILE", help="Write the program's bytes there (a folder: all programs)."
        ),
    ] = None,
    yes: Yes = False,
    csv: Csv = False,
    json: Json = False,
) -> None:
    """Show a revision: programs, fingerprints, where it came from, proofs."""
    frame = Frame.of(ctx, csv=csv, json=json, yes=yes)
    # bytes that are let out are found by the objects alone
    desk = frame.view() if output is None else frame.desk()
    report = show(desk, named_in(frame, desk, name))
    if output == "-":
        sys.stdout.buffer.write(main_program(report).data)
        sys.stdout.buffer.flush()
        return
    if output is not None:
        written = _write(report, Path(frame.folder) / output, overwrite=frame.yes)
        lines = [f"written: {visible(path)}" for path in written]
        frame.answer(
            "show",
            lambda: {**as_json(report), "written": written},
            lambda console: say(console, *lines),
        )
        return
    frame.answer("show", lambda: as_json(report), lambda console: print_text(report, console))


def _write(report: ShowReport, target: Path, *, overwrite: bool) -> list[str]:
    """Write the main program to a file, or every program into a folder; returns the paths written."""
    main = main_program(report)
    if not target.is_dir():
        _put(target, main.data, overwrite=overwrite)
        return [str(target)]
    names = [program.name.lower() for program in report.text.programs]
    if len(set(names)) < len(names):
        raise Refused(
            "same-names",
            "two programs of this revision have one file name, so one folder cannot hold them",
            where=str(target),
            fix="write the main program to a file with -o FILE",
        )
    for program in report.text.programs:
        _put(target / program.name, program.data, overwrite=overwrite)
    return [str(target / program.name) for program in report.text.programs]


def _put(path: Path, data: bytes, *, overwrite: bool) -> None:
    try:
        if path.exists() and not overwrite and path.read_bytes() != data:
            raise BadCall(
                "file-exists",
                "there is a file of that name already, and it holds something else",
                where=str(path),
                fix="name another file, or say --yes to write over it",
            )
    except OSError as fault:
        raise file_error(str(path), fault) from fault
    if not path.parent.is_dir():
        raise BadCall(
            "no-such-folder", "there is no such folder", where=str(path.parent), fix="make it first"
        )
    put_whole(path, data)
