"""What a witness found, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.policy.spelled import counted
from tracker.reports.table import say, visible, wrapped

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.witness import WitnessReport


def as_json(report: "WitnessReport") -> dict[str, object]:
    """Every finding, and what was looked at."""
    return {
        "at": report.at,
        "source": report.source,
        "line": report.line,
        "references": report.references,
        "followed": report.changed,
        "findings": [
            {"problem": one.problem, "where": one.where, "message": one.message} for one in report.findings
        ],
        "releases": report.audit.releases,
        "records": report.audit.records,
    }


def print_text(report: "WitnessReport", console: "Console") -> None:
    """Two lines a finding, then what was looked at."""
    for one in report.findings:
        say(console, f"{one.problem}  {visible(one.where)}")
        wrapped(console, one.message, indent="        ")
    found = counted(len(report.findings), "finding") if report.findings else "No finding"
    seen = f"{counted(report.references, 'branch or tag', 'branches and tags')} of {report.source}"
    wrapped(
        console,
        f"{found}: {seen}, {report.changed} of them new or gone on; {counted(report.audit.releases, 'release')} "
        f"derived again. Line {report.line} of the journal.",
    )
