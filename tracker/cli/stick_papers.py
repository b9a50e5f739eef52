"""The papers ``export`` lays beside the programs: the read-me, and on request a setup sheet an operation."""

from collections.abc import Iterator

from tracker.errors import ProveoutError
from tracker.policy.find import short_name
from tracker.reports.read_me import read_me
from tracker.services.desk import Desk
from tracker.services.export_papers import SHEET_ENDING, SHEET_OPENING, MakePapers, Paper
from tracker.services.export_report import ExportedOperation, ExportReport
from tracker.services.ports_stick import READ_ME_NAME
from tracker.services.progress import Tell, told


def papers_with(desk: Desk, tell: Tell, *, sheets: bool) -> MakePapers:
    """What makes them. Raises when called as `sheet` does: what goes out with a sheet wants it whole."""

    def made(report: ExportReport) -> Iterator[Paper]:
        if sheets:
            for operation in told(report.operations, _named, tell):
                yield _sheet(desk, report, operation)
        yield Paper(name=READ_ME_NAME, data=read_me(report))

    return made


def _named(one: ExportedOperation) -> str:
    return f"setup sheet of {one.job}/{one.operation}"


def _sheet(desk: Desk, report: ExportReport, one: ExportedOperation) -> Paper:
    from tracker.reports.sheet_html import page
    from tracker.services.naming import parse_named
    from tracker.services.sheet import sheet

    name = f"{one.job}/{one.operation}@{short_name(one.record)}"
    try:
        made = sheet(desk, parse_named(name), report.machine)
    except ProveoutError as fault:
        fault.reasons = (*fault.reasons, f"this was the sheet of {name}; without --with-sheets none is made")
        raise
    return Paper(
        name=f"{SHEET_OPENING}{one.job} {one.operation}{SHEET_ENDING}".upper(),
        data=page(made, made.paper).encode("utf-8"),
        job=one.job,
        operation=one.operation,
        revision=one.record,
    )
