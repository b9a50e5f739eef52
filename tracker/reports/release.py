"""The answer of ``release``."""

from typing import TYPE_CHECKING

from tracker.policy.find import label
from tracker.policy.states import standing_words
from tracker.reports.table import wrapped
from tracker.services.release import ReleaseReport

if TYPE_CHECKING:
    from rich.console import Console


def as_json(report: ReleaseReport) -> dict[str, object]:
    """The release with how each operation stands, and what is not in it."""
    return {
        "job": report.job,
        "number": report.number,
        "tag": report.tag,
        "commit": report.commit,
        "record": report.path,
        "by": report.by,
        "dry_run": report.dry_run,
        "taken_up": report.taken_up,
        "operations": [
            {
                "operation": one.operation,
                "revision": label(one.revision),
                "machines": [
                    {"machine": name, "standing": found.state, "reason": found.reason}
                    for name, found in one.standings
                ],
            }
            for one in report.operations
        ],
        "not_included": [{"operation": name, "reason": why} for name, why in report.not_included],
        "notes": list(report.notes),
    }


def print_text(report: ReleaseReport, console: "Console") -> None:
    """What was released, why each operation stands, what is not in it."""
    head = f"{report.job} release {report.number}"
    if report.dry_run:
        wrapped(console, f"{head} could be made now; nothing was written.")
    elif report.taken_up:
        wrapped(console, f"{head}: its record was there, its tag is made now.")
    else:
        wrapped(console, f"{head} made by {report.by}.")
    for one in report.operations:
        for name, found in one.standings:
            if found.usable:
                words = f"{one.operation} {label(one.revision)} on {name}: {standing_words(found.state, found.reason)}"
                wrapped(console, words, indent="  ")
    for name, why in report.not_included:
        wrapped(console, f"not in it: {name}: {why}", indent="  ")
    for note in report.notes:
        wrapped(console, f"note: {note}")
