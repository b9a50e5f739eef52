"""What happened, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.clock import utc_text
from tracker.reports.table import print_table, say, visible
from tracker.reports.times import moment, zone

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.history import Happened, HistoryReport

_HEADERS = ("at", "event", "of", "rev", "machine", "by")
_WIDE = 100


def as_json(report: "HistoryReport") -> dict[str, object]:
    """``events`` in order; marks (``struck``, ``elsewhere``, ``entered_by``) only where they are so."""
    data: dict[str, object] = {"events": [event_json(one) for one in report.events]}
    if report.unreadable:
        data["unreadable"] = list(report.unreadable)
    return data


def print_text(report: "HistoryReport", console: "Console") -> None:
    """One row an event; on a narrow screen what it says stands under it."""
    tz = zone(report.timezone)
    rows = [
        (
            moment(one.at, tz),
            one.event,
            "/".join(part for part in (one.job, one.operation) if part),
            one.revision or "",
            one.machine or "",
            one.by,
        )
        for one in report.events
    ]
    words = [said(one) for one in report.events]
    if rows and console.width >= _WIDE:
        print_table(
            console, (*_HEADERS, "what"), [(*row, what) for row, what in zip(rows, words, strict=True)]
        )
    elif rows:
        print_table(console, _HEADERS, rows, below=[(what,) if what else () for what in words])
    else:
        say(console, "Nothing recorded.")
    for bad in report.unreadable:
        say(console, f"not readable: {visible(bad)}")


def said(one: "Happened") -> str:
    """What an event says beside its name, in one line."""
    parts = [one.words, ", ".join(one.kinds), f'"{one.reason}"' if one.reason else ""]
    if one.entered_by:
        parts.append(f"entered by {one.entered_by}")
    if one.signs:
        parts.append(one.signed)
    if one.struck:
        parts.insert(0, "STRUCK")
    if not one.stored.in_hand:
        parts.insert(0, "on another branch")
    return "; ".join(part for part in parts if part)


def event_json(one: "Happened") -> dict[str, object]:
    """One event."""
    data: dict[str, object] = {
        "at": utc_text(one.at),
        "event": one.event,
        "job": one.job,
        "operation": one.operation,
        "revision": one.revision,
        "machine": one.machine,
        "by": one.by,
        "kinds": list(one.kinds),
        "reason": one.reason,
        "record": one.stored.path,
        "signed": one.signed,
    }
    if one.words:
        data["words"] = one.words
    if one.stored.before is not None:
        data["before"] = {"commit": one.stored.before.commit, "author": one.stored.before.author}
    if one.entered_by:
        data["entered_by"] = one.entered_by
    if one.struck:
        data["struck"] = True
    if not one.stored.in_hand:
        data["elsewhere"] = True
    return data
