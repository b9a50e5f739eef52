"""``summary``: what a program does, in figures."""

from pathlib import Path
from typing import Annotated

import typer

from tracker.cli.fast_files import read_file
from tracker.cli.frame import Csv, Frame, Json, MachineOption
from tracker.errors import ProveoutError
from tracker.reports.summary import as_json, print_text
from tracker.services.summary import SummaryReport, summary_of_file, summary_of_operation


def command(
    ctx: typer.Context,
    name: Annotated[
        str,
        typer.Argument(
            metavar="FILE|JOB/OP[@rN]",
            help="A program anywhere (- is standard input), or an operation: as it lies here, or as recorded.",
        ),
    ],
    machine: MachineOption = None,
    csv: Csv = False,
    json: Json = False,
) -> None:
    """Show what a program does: tools, extents, deepest cuts, lengths, minutes."""
    frame = Frame.of(ctx, json=json, csv=csv)
    report = _summed(frame, name, machine)
    frame.answer("summary", lambda: as_json(report), lambda console: print_text(report, console))


def _summed(frame: Frame, name: str, machine: str | None) -> SummaryReport:
    """A file where there is one of that name, else an operation; else the file that is missing."""
    place = Path(frame.folder) / name
    if name != "-" and not place.exists():
        found = _operation(frame, name, machine)
        if found is not None:
            return found
    data = read_file("-" if name == "-" else str(place))
    if machine is None:
        return summary_of_file(name, data)
    from tracker.services.machine_named import machine_named

    return summary_of_file(name, data, machine_named(frame.desk().repo.work_tree().shop(), machine))


def _operation(frame: Frame, name: str, machine: str | None) -> SummaryReport | None:
    """The operation a name means; None where it was meant as a file: no form of a name, or no repository."""
    from tracker.services.locate import find_job
    from tracker.services.named_by_id import is_id
    from tracker.services.naming import parse_named

    if is_id(name):
        return _by_id(frame, name, machine)
    if "@" in name:
        return summary_of_operation(frame.desk(), parse_named(name), machine)
    try:
        named = parse_named(name)
        desk = frame.desk()
        find_job(desk.repo.work_tree(), named.job)
    except ProveoutError:
        return None
    return summary_of_operation(desk, named, machine)


def _by_id(frame: Frame, name: str, machine: str | None) -> SummaryReport | None:
    """What 8 digits name, a job first; None where there is no repository to look them up in."""
    from tracker.cli.options import named_in

    try:
        desk = frame.desk()
    except ProveoutError:
        return None
    return summary_of_operation(desk, named_in(frame, desk, name), machine)
