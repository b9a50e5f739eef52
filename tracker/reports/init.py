"""What ``init`` made, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.reports.table import say, visible, wrapped

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.init import InitReport


def as_json(report: "InitReport") -> dict[str, object]:
    """Folder, files written and kept, how many others lie there, people, notes."""
    return {
        "folder": report.root,
        "written": list(report.written),
        "kept": list(report.kept),
        "others": report.others,
        "people": list(report.people),
        "notes": list(report.notes),
    }


def print_text(report: "InitReport", console: "Console") -> None:
    """What was written, and what comes next."""
    say(console, f"This folder is a shop now: {visible(report.root)}")
    for path in report.written:
        say(console, f"  written  {visible(path)}")
    for path in report.kept:
        say(console, f"  kept     {visible(path)}  (was there already)")
    if report.others:
        others = f"{report.others} other files" if report.others > 1 else "one other file"
        wrapped(console, f"Left as they are, byte for byte: {others}.")
    for note in report.notes:
        wrapped(console, f"note: {note}")
    say(console, "Next:")
    for number, step in enumerate(_next(report), 1):
        wrapped(console, f"{number}. {step}", indent="  ")


def _next(report: "InitReport") -> list[str]:
    people = "machines" if report.people else "people and machines"
    old = (
        "Programs you have already: proveout adopt FOLDER --plan plan.csv  looks through them, a row a file."
    )
    return [
        f'Put {people} into shop.toml, then: proveout checkin shop.toml -m "{people}"',
        *([old] if report.others else []),
        "A job of your own: copy jobs/job-example.toml to jobs/NUMBER/job.toml and lay the job's programs beside it.",
        'proveout checkin NUMBER -m "first issue"',
        "proveout install  sets up the hooks and the differences of programs on this PC.",
    ]
