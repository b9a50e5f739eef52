"""The board of today, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.clock import utc_text
from tracker.reports.cautions import PRINTED
from tracker.reports.deviations import as_data, sentence
from tracker.reports.share_age import share_json
from tracker.reports.status_counts import MOST_SHOWN, STOPS, counts_line, print_counts
from tracker.reports.table import print_table, say, visible, wrapped
from tracker.reports.times import moment, zone

if TYPE_CHECKING:
    from tracker.reports.screen import Screen
    from tracker.services.status import StatusReport
    from tracker.services.status_look import StatusRow

UNSIGNED = "unsigned"
NOBODY = "Records here are unsigned: nobody in shop.toml has a key (proveout explain unsigned)."
_SHOWN = 5
HEADERS = ("operation", "rev", "machine", "id", "rel", "may run", "standing")


def as_json(report: "StatusReport") -> dict[str, object]:
    """``operations``, a row an operation and machine; other keys only where there is something."""
    data: dict[str, object] = {
        "operations": [row_json(row) for row in report.rows],
        "at": utc_text(report.now),
        **share_json(report.last_share),
    }
    for key in ("edited", "left_out", "problems", "unreadable"):
        if getattr(report, key):
            data[key] = list(getattr(report, key))
    if report.deviations:
        data["deviations"] = [as_data(one) for one in report.deviations]
    return data


def print_text(report: "StatusReport", console: "Screen", *, everything: bool = True) -> None:
    """A table, deviations first of all; with ``--may-run`` under the date and time it was asked.

    Several rows open with how many stand how; of more than `MOST_SHOWN` only what stops is shown, unless ``everything``.
    """
    for one in report.deviations:
        wrapped(console, sentence(one, report.timezone), accent=True)
    if report.may_run:
        where = f"on {report.machine} " if report.machine else ""
        wrapped(console, f"What may run {where}- {moment(report.now, zone(report.timezone))}")
    _print_rows(report, console, everything=everything)
    if report.rows:
        _signatures(report, console)
    for line in report.left_out:
        wrapped(console, f"may not run: {line}", indent="  ")
    for path in report.edited:
        say(console, f"edited, not checked in: {visible(path)}")
    for problem in (*report.problems, *report.unreadable):
        wrapped(console, f"not readable: {problem}")
    if report.last_share is not None:
        say(console, report.last_share.words)
    if report.may_run:
        say(console, PRINTED)


def _print_rows(report: "StatusReport", console: "Screen", *, everything: bool) -> None:
    rows = list(report.rows)
    if len(rows) > 1:
        wrapped(console, counts_line(rows))
    if len(rows) > MOST_SHOWN and not everything:
        rows = print_counts(rows, console)
    if rows:
        accents = {at for at, row in enumerate(rows) if row.state in STOPS}
        below = [_below(row) for row in rows]
        print_table(console, HEADERS, [_row(row) for row in rows], below=below, accents=accents)
    elif not report.rows:
        say(console, _nothing(report))


def _nothing(report: "StatusReport") -> str:
    if report.standings:
        return f"Nothing is {' or '.join(report.standings)} here."
    return "Nothing may run." if report.may_run else "No operation has been checked in."


def _signatures(report: "StatusReport", console: "Screen") -> None:
    """Once for all rows what is not signed."""
    if not report.signs:
        wrapped(console, NOBODY)
        return
    bare = dict.fromkeys(
        f"{row.job}/{row.operation} {row.revision}" for row in report.rows if row.signed == UNSIGNED
    )
    if bare:
        more = f" and {len(bare) - _SHOWN} more" if len(bare) > _SHOWN else ""
        wrapped(console, f"unsigned: {', '.join([*bare][:_SHOWN])}{more}")


def _row(row: "StatusRow") -> tuple[str, ...]:
    return (
        f"{row.job}/{row.operation}",
        row.revision or "-",
        row.machine or "-",
        row.display_id or "-",
        "-" if row.released is None else str(row.released),
        "yes" if row.may_run else "no",
        row.state.upper(),
    )


def _below(row: "StatusRow") -> tuple[str, ...]:
    """The reason, and what comes next where something has to."""
    reason = row.reason.removeprefix(f"{row.state}: ")  # the state stands in the row already
    why = (reason,) if not (row.signed or "").startswith("signature") else (reason, f"its {row.signed}")
    return why if row.may_run or not row.next else (*why, f"next: {row.next}")


def row_json(row: "StatusRow") -> dict[str, object]:
    """One row of the board."""
    return {
        "job": row.job,
        "operation": row.operation,
        "revision": row.revision,
        "machine": row.machine,
        "standing": row.state,
        "reason": row.reason,
        "released": row.released,
        "may_run": row.may_run,
        "next": row.next,
        "signed": row.signed,
    }
