"""How many rows of the board stand how: in one line, and by machine where there are too many rows to read."""

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from tracker.policy.states import HELD, PRECEDENCE, REJECTED, WITHDRAWN
from tracker.reports.table import print_table, wrapped

if TYPE_CHECKING:
    from tracker.reports.screen import Screen
    from tracker.services.status_look import StatusRow

STOPS = frozenset({WITHDRAWN, HELD, REJECTED})
"""What somebody stopped; the others only lack something."""
MOST_SHOWN = 200
"""Rows that are still read on a screen; what stops is shown of more."""
NARROW = (
    "To narrow: --standing held, --job JOB, --machine ID. --all shows every row, --csv is for a spreadsheet."
)


def counts_line(rows: "Sequence[StatusRow]") -> str:
    """``5 rows: 1 held, 4 proven; 1 may run.``: what stops first."""
    by_state = Counter(row.state for row in rows)
    named = ", ".join(f"{by_state[state]} {state}" for state in PRECEDENCE if by_state[state])
    return f"{len(rows)} rows: {named}; {sum(row.may_run for row in rows)} may run."


def print_counts(rows: "Sequence[StatusRow]", console: "Screen") -> "list[StatusRow]":
    """A table of machines by standing; gives back the rows that are shown still: what stops, at most `MOST_SHOWN`."""
    states = [state for state in PRECEDENCE if any(row.state == state for row in rows)]
    by_machine: dict[str, Counter[str]] = {}
    for row in rows:
        of_machine = by_machine.setdefault(row.machine or "-", Counter())
        of_machine[row.state] += 1
        of_machine["may run"] += row.may_run
    print_table(
        console,
        ("machine", *states, "may run"),
        [
            (name, *(str(found[state]) for state in (*states, "may run")))
            for name, found in sorted(by_machine.items())
        ],
    )
    shown = [row for row in rows if row.state in STOPS][:MOST_SHOWN]
    wrapped(console, f"{len(rows) - len(shown)} rows are not shown. {NARROW}")
    return shown
