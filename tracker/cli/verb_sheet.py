"""``sheet``: the setup sheet of a revision for one machine, on the screen or to be printed."""

from pathlib import Path
from typing import Annotated

import typer

from tracker.cli.frame import Csv, Frame, Json, MachineOption
from tracker.cli.options import Target, machine_here, named_in
from tracker.cli.sheet_file import put_sheet, to_standard_output
from tracker.errors import BadCall
from tracker.reports.sheet import as_json, print_text
from tracker.reports.sheet_html import MARK, page
from tracker.reports.sheet_html_style import PAPERS
from tracker.reports.table import say, visible
from tracker.services.sheet import SheetReport, sheet


def command(
    ctx: typer.Context,
    name: Target,
    machine: MachineOption = None,
    html: Annotated[
        str | None,
        typer.Option(
            "--html", metavar="FILE", help="Write it as a page to be printed (- is standard output)."
        ),
    ] = None,
    paper: Annotated[
        str | None,
        typer.Option("--paper", metavar="a4|letter", help="Paper of the page; else as in shop.toml."),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is no sheet.")] = False,
    csv: Csv = False,
    json: Json = False,
) -> None:
    """Show the setup sheet: id, standing, tools, offsets, steps of the prove-out; --html to print it."""
    frame = Frame.of(ctx, json=json, csv=csv)
    _sensible(html, paper, json=frame.json)
    desk = frame.desk()
    report = sheet(desk, named_in(frame, desk, name), machine_here(frame, desk, machine))
    if html is None:
        frame.answer("sheet", lambda: as_json(report), lambda console: print_text(report, console))
        return
    text = page(report, (paper or report.paper).lower())
    if html == "-":
        to_standard_output(text)
        return
    path = Path(frame.folder) / html
    put_sheet(path, text, mark=MARK, force=force)
    said = _said(report, path)
    frame.answer(
        "sheet",
        lambda: {**as_json(report), "written": str(path)},
        lambda console: say(console, *said),
    )


def _sensible(html: str | None, paper: str | None, *, json: bool) -> None:
    """Raise BadCall (``wrong-call``) for options that do not go together, or a paper nobody sells."""
    if paper is not None and paper.lower() not in PAPERS:
        raise BadCall("wrong-call", f"there is no paper {paper!r}", fix=f"use one of: {', '.join(PAPERS)}")
    if paper is not None and html is None:
        raise BadCall("wrong-call", "--paper goes with --html", fix="say where the page goes: --html FILE")
    if html == "-" and json:
        raise BadCall("wrong-call", "--html - and --json do not go together", fix="leave one of them out")


def _said(report: SheetReport, path: Path) -> list[str]:
    title = f"{report.name} {report.label} on {report.machine.id}, id {report.display_id}"
    return [
        visible(f"written: {path}"),
        visible(f"{title}: {report.standing.state}. Open it in a browser to print it."),
    ]
