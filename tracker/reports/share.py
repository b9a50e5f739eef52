"""The answer of ``share``."""

from typing import TYPE_CHECKING

from tracker.policy.spelled import counted
from tracker.reports.table import wrapped
from tracker.reports.times import moment, zone
from tracker.services.ports_share import LastEdit
from tracker.services.share_asked import ShareReport
from tracker.services.share_both import BothChanged
from tracker.services.share_branches import OtherBranch

if TYPE_CHECKING:
    from rich.console import Console


def as_json(report: ShareReport) -> dict[str, object]:
    """What came in, what went out, what waits for a person."""
    return {
        "remote": report.remote,
        "address": report.address,
        "branch": report.branch,
        "complete": report.complete,
        "received": report.received,
        "sent": 0 if report.stopped else report.sent,
        "pushes": report.pushes,
        "merge": report.merge,
        "tags_received": list(report.tags_received),
        "tags_sent": list(report.tags_sent),
        "both_changed": [_both(one) for one in report.both],
        "several_newest": [
            {"operation": name, "revisions": list(revisions)} for name, revisions in report.several
        ],
        "tag_notes": [
            {"tag": one.tag, "message": one.words, "kept_back": one.kept_back} for one in report.tag_notes
        ],
        "branches_received": [{"branch": one.branch, "changes": one.number} for one in report.came_beside],
        "only_here": [{"branch": one.branch, "records": one.number} for one in report.only_here],
        "stops_sent": list(report.stops.sent),
        "stops_not_sent": list(report.stops.kept),
        "unread": report.unread,
        "dry_run": report.dry_run,
    }


def _both(one: BothChanged) -> dict[str, object]:
    return {
        "file": one.path,
        "ours": _edit(one.ours),
        "theirs": _edit(one.theirs),
        "gone": one.gone,
        "kinds": None if one.kinds is None else list(one.kinds),
        "chosen": one.chosen,
        "how": one.how,
    }


def _edit(edit: LastEdit | None) -> dict[str, object] | None:
    if edit is None:
        return None
    at = edit.at.strftime("%Y-%m-%dT%H:%M:%SZ")
    return {"by": edit.by, "at": at, "commit": edit.commit, "message": edit.message}


def print_text(report: ShareReport, console: "Console") -> None:
    """What was shared; or which files wait, who changed them, and how to choose."""
    if report.stopped:
        _print_stopped(report, console)
    else:
        for line in _done(report):
            wrapped(console, line)
        for one in report.both:
            wrapped(
                console,
                f"{one.path}: took {'what is here' if one.chosen == 'ours' else 'what was there'}",
                "  ",
            )
    for beside in report.only_here:
        wrapped(console, _only_here(beside))
    for note in report.tag_notes:
        wrapped(console, f"{note.tag}: {note.words}")
    if report.unread is not None:
        wrapped(console, f"note: the record could not be looked at: {report.unread}")
    for name, revisions in report.several:
        wrapped(console, f"{name} has {counted(len(revisions), 'newest revision')}: {', '.join(revisions)}")
        wrapped(console, f'next: proveout checkin {name} -m "which text counts, and why"', indent="  ")


def _done(report: ShareReport) -> list[str]:
    would = "would come" if report.dry_run else "came"
    lines: list[str] = []
    if report.received or report.tags_received:
        lines.append(f"From {report.remote} {would}: {_what(report.received, report.tags_received)}.")
    lines += [
        f"From {report.remote} {would}, on branch {one.branch}: {_what(one.number, ())}."
        for one in report.came_beside
    ]
    if report.merged:
        lines.append(
            "Both sides had gone on: no file was changed on both."
            if not report.both
            else "Both sides had gone on."
        )
    if report.sent or report.tags_sent:
        went = "would go" if report.dry_run else "went"
        steps = f" in {report.pushes} steps, changes of shop.toml by themselves" if report.pushes > 1 else ""
        lines.append(f"To {report.remote} {went}: {_what(report.sent, report.tags_sent)}{steps}.")
    if not lines and report.only_here:
        lines.append(f"Nothing to do on branch {report.branch}.")
    elif not lines:
        lines.append(f"Nothing to do: {report.remote} and this clone hold the same.")
    if report.dry_run:
        lines.append("Nothing was changed.")
    return lines


def _only_here(one: OtherBranch) -> str:
    return (
        f"On this PC only: {counted(one.number, 'record')} on branch {one.branch}, which nobody else can see. "
        f"To send what lies there: git switch {one.branch}, then proveout share; to have it here: git merge {one.branch}"
    )


def _what(commits: int, tags: tuple[str, ...]) -> str:
    parts = [counted(commits, "change")] if commits else []
    return ", ".join([*parts, *tags])


def _print_stopped(report: ShareReport, console: "Console") -> None:
    waiting = [one for one in report.both if one.chosen is None]
    wrapped(
        console,
        f"Stopped: {counted(len(waiting), 'file')} changed here and in {report.remote}. Nothing was mixed.",
    )
    wrapped(console, "What is recorded here and there stays as it is until somebody chooses.")
    for one in report.both:
        wrapped(console, one.path)
        wrapped(console, f"here:  {_said(one.ours, report, gone=one.gone == 'here')}", indent="  ")
        wrapped(console, f"there: {_said(one.theirs, report, gone=one.gone == 'there')}", indent="  ")
        if one.kinds is not None:
            kinds = ", ".join(one.kinds) or "none"
            wrapped(console, f"kinds of change from here to there: {kinds}", indent="  ")
        if one.chosen is not None:
            wrapped(console, f"chosen already: {one.chosen}", indent="  ")
        else:
            wrapped(console, f"to choose: {one.how}", indent="  ")
    for line in report.stops.words:
        wrapped(console, line)


def _said(edit: LastEdit | None, report: ShareReport, *, gone: bool) -> str:
    words = "taken away" if gone else "changed"
    if edit is None:
        return words
    return f"{words} by {edit.by}, {moment(edit.at, zone(report.timezone))}: {edit.message}"
