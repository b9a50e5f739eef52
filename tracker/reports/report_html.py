"""A report as one HTML file that needs nothing but itself: of a job, or of the whole shop."""

from typing import TYPE_CHECKING

from tracker.policy.days import words
from tracker.reports import report_parts as parts
from tracker.reports.cautions import PRINTED
from tracker.reports.deviations import sentence
from tracker.reports.report_drawing import drawing_part
from tracker.reports.report_script import SCRIPT
from tracker.reports.report_style import style
from tracker.reports.sheet_html_parts import text
from tracker.reports.times import moment, zone

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from tracker.policy.deviations import Deviation
    from tracker.services.report import JobReport, OperationReport
    from tracker.services.report_shop import Due, JobShown, ShopReport

MARK = "<!-- report, written by proveout -->"
"""Opens the second line of every report: a file that has it may be written over by a newer one."""
POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
"""Nothing is fetched and nothing sent, whatever stood in a text of the shop."""


def job_page(report: "JobReport") -> str:
    """The report of a job, a section an operation."""
    title = f"Report: {report.job}"
    links = ((f"op-{place}", part.name) for place, part in enumerate(report.operations))
    body = "".join(_operation(place, part, report.timezone) for place, part in enumerate(report.operations))
    head = _head(title, report.title, report.shop, report.at, report.timezone)
    loud = _deviations(report.deviations, report.timezone)
    return _page(title, report.paper, head + _links(links) + loud + body, script=True)


def shop_page(report: "ShopReport") -> str:
    """The report of the shop: what stands, what is due, and each job's last events."""
    title = "Report of the shop"
    rows = [row for job in report.jobs for row in job.rows]
    links = [
        ("board", "Standing"),
        ("due", "Due next"),
        *((f"job-{at}", one.job) for at, one in enumerate(report.jobs)),
    ]
    problems = "".join(f'<p class="note">{text(one)}</p>' for one in report.problems)
    body = (
        _head(title, "", report.shop, report.at, report.timezone)
        + _links(links)
        + _deviations(report.deviations, report.timezone)
        + problems
        + '<h2 id="board">Standing</h2>'
        + (
            parts.board(rows, "Standing of every operation", named=True)
            if rows
            else "<p>Nothing has been checked in.</p>"
        )
        + f'<h2 id="due">Due next</h2>{_due(report.due)}'
        + "".join(_job(at, one, report.timezone) for at, one in enumerate(report.jobs))
    )
    return _page(title, report.paper, body, script=False)


def _page(title: str, paper: str, body: str, *, script: bool) -> str:
    end = f"<script>{SCRIPT}</script>" if script else ""
    return (
        f'<!DOCTYPE html>\n{MARK}\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{text(title)}</title>\n<style>{style(paper)}</style></head>\n"
        f"<body><main>{body}</main>{end}</body></html>\n"
    )


def _head(title: str, about: str, shop: str, at: "datetime", timezone: str) -> str:
    said = f"<p>{text(about)}</p>" if about else ""
    when = text(f"{shop}, {moment(at, zone(timezone))}. {PRINTED}")
    return f'<h1>{text(title)}</h1>{said}<p class="note">{when}</p>'


def _links(links: "Iterable[tuple[str, str]]") -> str:
    items = "".join(f'<li><a href="#{anchor}">{text(words)}</a></li>' for anchor, words in links)
    return f'<nav aria-label="Sections"><ul>{items}</ul></nav>'


def _deviations(found: "Iterable[Deviation]", timezone: str) -> str:
    return "".join(f'<p class="note"><b>{text(sentence(one, timezone))}</b></p>' for one in found)


def _operation(place: int, part: "OperationReport", timezone: str) -> str:
    head = f'<section><h2 id="op-{place}">{text(part.name)}'
    if part.problem is not None:
        return f'{head}</h2><p class="note">{text(part.problem)}</p></section>'
    released = f"<p>Released, number {part.released}.</p>" if part.released else ""
    notes = "".join(f'<p class="note">{text(note)}</p>' for note in part.notes)
    return (
        f'{head} {text(part.revision)}, id <span class="mono">{text(part.display_id)}</span></h2>{notes}{released}'
        f"<h3>Standing</h3>{parts.standing(part)}{parts.differences(part)}{drawing_part(part)}"
        f"<h3>Timeline</h3>{parts.timeline(part.timeline, timezone, part.name)}"
        f"{parts.evidence(part.evidence) if part.evidence else ''}</section>"
    )


def _due(found: "Iterable[Due]") -> str:
    rows = [
        (
            text(one.name),
            text(one.machine or "-"),
            text(one.what),
            text(words(one.day) if one.day else "-"),
        )
        for one in found
    ]
    return (
        parts.table("Due next", ("operation", "machine", "what", "by"), rows)
        if rows
        else "<p>Nothing is due.</p>"
    )


def _job(place: int, one: "JobShown", timezone: str) -> str:
    more = one.events - len(one.timeline)
    earlier = f"<p>{more} earlier events: proveout history {text(one.job)}</p>" if more else ""
    about = f"<p>{text(one.title)}</p>" if one.title else ""
    return (
        f'<section><h2 id="job-{place}">{text(one.job)}</h2>{about}{earlier}'
        f"{parts.timeline(one.timeline, timezone, one.job)}</section>"
    )
