"""What ``install`` did, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.reports.table import say, visible, wrapped

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.install import InstallReport


def as_json(report: "InstallReport") -> dict[str, object]:
    """Which repository, whether it was undone, and what became of each thing."""
    return {
        "folder": report.root,
        "server": report.server,
        "guard": report.guard,
        "undone": report.undone,
        "actions": [{"what": one.what, "state": one.state, "where": one.where} for one in report.actions],
        "notes": list(report.notes),
    }


def print_text(report: "InstallReport", console: "Console") -> None:
    """A line for each thing."""
    verb = "Taken out of" if report.undone else "Set up on the server:" if report.server else "Set up:"
    say(console, f"{verb} {visible(report.root)}")
    for one in report.actions:
        wrapped(console, f"  {one.state:8} {one.what}")
    if report.guard is not None:
        say(console, f"This server is: {report.guard}")
    for note in report.notes:
        wrapped(console, f"note: {note}")
