"""What was taken over from the history of before the record, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.policy.spelled import counted
from tracker.reports.table import say, visible, wrapped

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.adopt_history import HistoryReport

_MOST = 12


def history_json(report: "HistoryReport") -> dict[str, object]:
    """Operations with their new revisions, how many there were before, and who is said to have written them."""
    return {
        "dry_run": report.dry_run,
        "commits": report.commits,
        "operations": [
            {"job": one.job, "operation": one.operation, "new": list(one.new), "already": one.already}
            for one in report.operations
        ],
        "authors": [{"claimed": name, "revisions": count} for name, count in report.authors],
        "odd_dates": report.odd_dates,
        "commit": report.commit,
    }


def print_history(report: "HistoryReport", console: "Console") -> None:
    """The same for people."""
    new = sum(len(one.new) for one in report.operations)
    already = sum(one.already for one in report.operations)
    looked = f"{counted(report.commits, 'commit')} looked through"
    if not new:
        said = (
            f"{counted(already, 'revision')} of before the record there already"
            if already
            else "no older code"
        )
        wrapped(console, f"{looked}: {said}, nothing to do.")
        return
    done = "would be taken over" if report.dry_run else "taken over in one commit"
    of = sum(1 for one in report.operations if one.new)
    wrapped(
        console,
        f"{looked}: {counted(new, 'revision')} of {counted(of, 'operation')} {done}, from before the record.",
    )
    for one in [one for one in report.operations if one.new][:_MOST]:
        first, last = (name.partition("-")[0].lstrip("r").lstrip("0") for name in (one.new[0], one.new[-1]))
        span = f"r{first}" if first == last else f"r{first} to r{last}"
        say(console, f"  {one.job}/{one.operation}: {span}")
    if of > _MOST:
        say(console, f"  and {of - _MOST} more operations")
    names = [f"{name} ({count})" for name, count in report.authors]
    more = f" and {len(names) - _MOST} more" if len(names) > _MOST else ""
    wrapped(console, visible(f"Authors as the commits claim them: {', '.join(names[:_MOST])}{more}."))
    if report.odd_dates:
        wrapped(
            console, f"{counted(report.odd_dates, 'commit')} with a date that cannot be: shown as of today."
        )
    wrapped(console, "They can be read and compared. They give no standing: nobody here vouched for them.")
