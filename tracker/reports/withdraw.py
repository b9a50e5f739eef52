"""The answer of ``withdraw``."""

from typing import TYPE_CHECKING

from tracker.policy.find import label
from tracker.reports.acted import record_json
from tracker.reports.table import wrapped
from tracker.services.withdraw import WithdrawReport

if TYPE_CHECKING:
    from rich.console import Console


def as_json(report: WithdrawReport) -> dict[str, object]:
    """The record as it stands in its file, and where the texts were exported to."""
    return {
        "job": report.job,
        "number": report.number,
        "commit": report.commit,
        **record_json(report.record, report.path),
        "sticks": list(report.sticks),
        "were_on": list(report.were_on),
        "machines": list(report.machines),
    }


def print_text(report: WithdrawReport, console: "Console") -> None:
    """What was recalled, and which sticks to bring home."""
    held = ", ".join(f"{one.operation} {label(one.revision)}" for one in report.record.operations)
    wrapped(console, f"{report.job} release {report.number} withdrawn by {report.record.by}: {held}.")
    for stick in report.sticks:
        wrapped(console, f"call in {stick}", indent="  ")
    for stick in report.were_on:
        wrapped(console, f"taken off since: {stick}", indent="  ")
    for machine in report.machines:
        wrapped(console, f"take it off the control of {machine}, which may hold it still", indent="  ")
        wrapped(
            console,
            f"then the stick: proveout export --machine {machine} --to DIR --mirror",
            indent="  ",
        )
    if not report.carriers:
        wrapped(console, "no export of it is recorded; ask what the controls hold", indent="  ")
