"""What stood on a day, and where a block comes from; for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.clock import utc_text
from tracker.policy.days import words
from tracker.reports.table import print_table, say, visible, wrapped
from tracker.reports.times import moment, zone

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.block_origin import BlockReport, CameIn
    from tracker.services.history_on import OnReport


def on_json(report: "OnReport") -> dict[str, object]:
    """The day, and a row for each operation and machine."""
    return {
        "on": report.day.isoformat(),
        "operations": [
            {
                "job": row.job,
                "operation": row.operation,
                "revision": row.revision,
                "machine": row.machine,
                "standing": row.standing.state if row.standing else None,
                "reason": row.standing.reason if row.standing else None,
                "released": row.released,
            }
            for row in report.rows
        ],
    }


def print_on(report: "OnReport", console: "Console") -> None:
    """A row for each; the reason under it."""
    say(console, f"By what was recorded by the end of {words(report.day)}:")
    if not report.rows:
        say(console, "Nothing was checked in yet.")
        return
    rows = [
        (
            visible(f"{row.job}/{row.operation}"),
            row.revision,
            row.machine or "-",
            str(row.released) if row.released else "-",
            row.standing.state if row.standing else "no machine",
        )
        for row in report.rows
    ]
    below = [(row.standing.reason,) if row.standing else () for row in report.rows]
    print_table(console, ("of", "rev", "machine", "release", "standing"), rows, below=below)


def block_json(report: "BlockReport") -> dict[str, object]:
    """The block, and for each operation the revision that brought it in."""
    return {
        "file": report.file,
        "line": report.line,
        "block": report.block,
        "origins": [_came(one) for one in report.operations],
    }


def print_block(report: "BlockReport", console: "Console") -> None:
    """A paragraph for each operation."""
    say(console, f"{visible(report.file)}:{report.line}  {visible(report.block)}")
    tz = zone(report.timezone)
    for one in report.operations:
        name = f"{one.job}/{one.operation}"
        if one.revision is None or one.at is None:
            wrapped(console, f"{name}: not checked in yet", indent="  ")
            continue
        why = f': "{one.reason}"' if one.reason else ""
        wrapped(
            console,
            f"{name}: came in with {one.revision}, line {one.was}, {one.claimed or f'by {one.by}'}, {moment(one.at, tz)}{why}",
            indent="  ",
        )
        if one.through:
            wrapped(console, f"unchanged through {', '.join(one.through)}", indent="    ")
        for proof in one.proofs:
            tools = f"; tools {', '.join(proof.tools)} only" if proof.tools else ""
            who = f"{proof.revision} on {proof.machine} by {proof.by}, {moment(proof.at, tz)}"
            paper = ", on paper, before the record" if proof.paper else ""
            wrapped(console, f"proved since: {who}{paper}{tools}", indent="    ")
        if not one.proofs:
            say(console, "    never proved since")


def _came(one: "CameIn") -> dict[str, object]:
    return {
        "job": one.job,
        "operation": one.operation,
        "revision": one.revision,
        "before": one.claimed,
        "by": one.by,
        "at": utc_text(one.at) if one.at else None,
        "reason": one.reason,
        "line": one.was,
        "through": list(one.through),
        "proofs": [
            {
                "revision": proof.revision,
                "machine": proof.machine,
                "by": proof.by,
                "at": utc_text(proof.at),
                "record": proof.record,
                "tools": list(proof.tools),
                "on_paper": proof.paper,
            }
            for proof in one.proofs
        ],
    }
