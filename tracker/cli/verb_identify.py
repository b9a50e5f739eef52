"""``identify``: what a file is, and whether it may run here."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.fast_files import long_file, pieces_of
from tracker.cli.frame import Csv, Frame, Json, MachineOption
from tracker.cli.options import file_named

if TYPE_CHECKING:
    from tracker.services.identify import NamedFile
    from tracker.services.progress import Tell


def command(
    ctx: typer.Context,
    files: Annotated[list[str], typer.Argument(metavar="FILE...", help="Files, wherever they lie.")],
    machine: MachineOption = None,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Say of every file which revision it is; ends with 0 only if all of them may run on the machine."""
    from tracker.cli.progress import progress
    from tracker.reports.identify import as_json, print_text
    from tracker.services.identify import identify
    from tracker.services.progress import told
    from tracker.stick.layout import StickShaper

    frame = Frame.of(ctx, json=json, csv=csv)
    desk = frame.desk()
    with progress(hidden=frame.json or frame.quiet) as tell:
        each = told(files, lambda name: f"reading {name}", tell)
        named = [_named(frame, name, tell) for name in each]
        report = identify(desk, StickShaper(), named, machine, tell)
    frame.answer("identify", lambda: as_json(report), lambda console: print_text(report, console))
    return 0 if report.all_may_run else 1


def _named(frame: Frame, name: str, tell: "Tell") -> "NamedFile":
    """A file as it is named: its bytes, or how to open it where it is too long to be held beside others."""
    from tracker.services.collect_look import WHOLE
    from tracker.services.identify import NamedFile
    from tracker.services.long_files import LongFile
    from tracker.services.progress import bytes_told

    path = name if name == "-" else str(Path(frame.folder) / name)
    size = long_file(path, WHOLE)
    if size is None:
        return NamedFile(name=name, data=file_named(frame, name, tell))

    def pieces() -> Iterator[bytes]:
        return pieces_of(path, size, lambda done, of: bytes_told(f"looking up {name}", done, of, tell))

    long = LongFile(name=name, pieces=pieces, size=size)
    return NamedFile(name=name, data=next(pieces(), b""), long=long)
