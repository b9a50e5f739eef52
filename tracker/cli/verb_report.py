"""``report``: one HTML file of a job or of the shop, to be looked at and passed on."""

from pathlib import Path
from typing import Annotated

import typer

from tracker.cli import complete
from tracker.cli.frame import Frame, Json
from tracker.cli.options import named_in
from tracker.cli.sheet_file import put_sheet, to_standard_output
from tracker.errors import BadCall
from tracker.reports.report_html import MARK, job_page, shop_page
from tracker.reports.report_json import job_json, shop_json
from tracker.reports.table import say, visible
from tracker.services.naming import Named, parse_named
from tracker.services.report import report
from tracker.services.report_shop import shop_report


def command(
    ctx: typer.Context,
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="[JOB[/OP][@rN]]",
            help="The job, operation or revision.",
            autocompletion=complete.operations,
        ),
    ] = None,
    shop: Annotated[bool, typer.Option("--shop", help="The whole shop instead of a job.")] = False,
    older: Annotated[
        str | None, typer.Option("--from", metavar="rN", help="The older revision to hold it against.")
    ] = None,
    newer: Annotated[
        str | None, typer.Option("--to", metavar="rN", help="The newer one; else the newest.")
    ] = None,
    output: Annotated[
        str | None,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="Where it goes, else report-JOB.html; - is standard output.",
        ),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is no report.")] = False,
    json: Json = False,
) -> None:
    """Write a page with standing, timeline, differences, tool path before and after, and evidence."""
    frame = Frame.of(ctx, json=json)
    if shop == (name is not None) or (shop and (older or newer)):
        raise BadCall("wrong-call", "what is to be reported?", fix="name a job, or say --shop alone")
    desk = frame.view(answers=False)  # rows with all parts of their standing
    if shop:
        whole = shop_report(desk)
        _put(frame, shop_page(whole), output, "report-shop.html", shop_json(whole), force=force)
        return
    found = report(
        desk, _named(named_in(frame, desk, name or ""), newer), older=_revision(older) if older else None
    )
    _put(frame, job_page(found), output, f"report-{found.job}.html", job_json(found), force=force)


def _named(named: Named, newer: str | None) -> Named:
    if newer is None:
        return named
    if named.revision is not None:
        raise BadCall("wrong-call", "the newer revision is named twice", fix="leave --to or the @rN out")
    other = _revision(newer)
    return Named(job=named.job, operation=named.operation, revision=other.revision, digits=other.digits)


def _revision(said: str) -> Named:
    """``r4`` alone, as a name of some job's; raises BadCall (``bad-name``)."""
    return parse_named(f"x/y@{said.removeprefix('@')}")


def _put(
    frame: Frame, html: str, output: str | None, usual: str, facts: dict[str, object], *, force: bool
) -> None:
    if output == "-":
        if frame.json:
            raise BadCall("wrong-call", "-o - and --json do not go together", fix="leave one of them out")
        to_standard_output(html)
        return
    written = None
    if output is not None or not frame.json:
        path = Path(frame.folder) / (output or usual)
        put_sheet(path, html, mark=MARK, force=force)
        written = str(path)
    frame.answer(
        "report",
        lambda: {**facts, "written": written},
        lambda console: say(
            console, visible(f"written: {written}"), "Open it in a browser; it needs nothing else."
        ),
    )
