"""What ``verify --fix precalls`` wrote, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.reports.table import say, visible, wrapped
from tracker.services.precalls import SUFFIX, PrecallsReport

if TYPE_CHECKING:
    from rich.console import Console


def as_json(report: PrecallsReport) -> dict[str, object]:
    """Where it was written (``written`` None: nothing to do), and every pre-call by line of the original."""
    return {
        "job": report.job,
        "operation": report.operation,
        "machines": list(report.machines),
        "program": report.source,
        "written": report.path,
        "added": [{"line": line, "tool": tool} for line, tool in report.added],
        "corrected": [{"line": line, "tool": tool} for line, tool in report.corrected],
    }


def print_text(report: PrecallsReport, console: "Console") -> None:
    """Each pre-call, the file, and that nothing is proven."""
    say(console, f"{report.job}/{report.operation} on {', '.join(report.machines)}: {visible(report.source)}")
    for line, tool in report.added:
        say(console, f"  after line {line}: T{tool} added")
    for line, tool in report.corrected:
        say(console, f"  line {line}: now T{tool}")
    if report.path is None:
        say(console, "  Every pre-call is there; nothing was written.")
        return
    how = "stands there already" if report.there else "written"
    wrapped(console, f"{visible(report.path)} {how}. It is not proven.", indent="  ")
    if report.path.endswith(SUFFIX):
        wrapped(
            console,
            "Look at it beside the original; to take it, put it in the original's place and check it in.",
            indent="  ",
        )
