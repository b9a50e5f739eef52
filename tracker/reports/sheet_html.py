"""The printed setup sheet: one HTML file that needs nothing but itself, without any script.

The whole sheet stands in one table whose head and foot a browser prints again on every page, so that a second page
never lies about without its job, revision, machine and id.
"""

from typing import TYPE_CHECKING

from tracker.reports import sheet_html_parts as parts
from tracker.reports.cautions import PRINTED
from tracker.reports.sheet_html_style import style
from tracker.reports.sheet_words import printed

if TYPE_CHECKING:
    from tracker.services.sheet import SheetReport

MARK = "<!-- setup sheet, written by proveout -->"
"""Opens the second line of every sheet: a file that has it may be written over by a newer sheet."""


def page(report: "SheetReport", paper: str) -> str:
    """The sheet as HTML; ``paper`` is ``a4`` or ``letter``."""
    title = parts.text(f"{report.name} {report.label} {report.machine.id} {report.display_id}")
    foot = f"{parts.text(printed(report))}. {parts.text(PRINTED)} {parts.text(report.shop)}"
    return (
        f'<!DOCTYPE html>\n{MARK}\n<html lang="en"><head><meta charset="utf-8"><title>{title}</title>\n'
        f"<style>{style(paper)}</style></head>\n"
        f'<body><table class="page"><thead><tr><td>{parts.strip(report)}</td></tr></thead>\n'
        f"<tfoot><tr><td>{foot}</td></tr></tfoot>\n"
        f"<tbody><tr><td>{_body(report)}</td></tr></tbody></table></body></html>\n"
    )


def _body(report: "SheetReport") -> str:
    """The parts in the order they are worked through at the machine."""
    return "\n".join(
        (
            parts.head(report),
            parts.standing(report),
            parts.facts(report),
            "<h2>Programs</h2>",
            parts.programs(report),
            "<h2>Work offsets</h2>",
            parts.offsets(report),
            "<h2>Tools</h2>",
            parts.tools(report),
            parts.found(report),
            parts.since(report),
            parts.remarks(report),
            parts.cautions(report),
            parts.steps(report),
            parts.traveller(),
        )
    )
