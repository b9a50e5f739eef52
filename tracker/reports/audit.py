"""What an audit found, for people and as JSON."""

from datetime import date
from typing import TYPE_CHECKING

from tracker.patterns import lazy_pattern
from tracker.policy.days import words
from tracker.policy.spelled import counted
from tracker.reports.cautions import TRACE
from tracker.reports.table import print_table, say, visible, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from tracker.services.audit_lists import ListReport
    from tracker.services.audit_report import AuditReport
    from tracker.services.problem import Problem

_JOB = lazy_pattern(r"(?:^|[ :(])(?:jobs|refs/tags/release)/([^/]+)/")
_NOT_ASKED = (
    "Only whether the record is whole. Not asked: the checks of released programs, and whether what ran was usable; "
    "proveout audit asks both."
)
_DATE = lazy_pattern(r"\d{4}-\d\d-\d\d")
_DOUBT = {"refuse": "The record is in doubt", "warn": "To look at"}


def as_json(report: "AuditReport") -> dict[str, object]:
    """Every problem, and how much was looked at; what was left out, where something was."""
    left_out = {"not_asked": ["checks", "runs"]} if report.integrity else {}
    return {
        "problems": [
            {
                "problem": one.problem,
                "severity": one.severity,
                "where": one.where,
                "message": one.message,
            }
            for one in report.problems
        ],
        "checked": {
            "commits": report.commits,
            "programs": report.programs,
            "records": report.records,
            "releases": report.releases,
        },
        **left_out,
    }


def print_text(report: "AuditReport", console: "Console") -> None:
    """By severity and job, two lines a problem, then what was looked at."""
    for (severity, job), group in grouped(report.problems):
        say(
            console,
            f"{_DOUBT.get(severity, severity)}, {f'job {visible(job)}' if job else 'the shop'} ({len(group)}):",
        )
        for one in group:
            say(console, f"{one.severity:8}{one.problem}  {visible(one.where)}")
            wrapped(console, one.message, indent=" " * 8)
    checked = (
        f"{counted(report.records, 'record')}, {counted(report.releases, 'release')}, "
        f"{counted(report.programs, 'recorded text')} and "
        f"{counted(report.commits, 'state of the shop', 'states of the shop')}"
    )
    count = len(report.problems)
    found = "No problem" if not count else "One problem" if count == 1 else f"{count} problems"
    wrapped(console, f"{found} found in {checked}.")
    if report.integrity:
        wrapped(console, _NOT_ASKED)
    if count:
        wrapped(console, "proveout explain NAME says what a problem means and how to put it right.")
    wrapped(console, TRACE)


def grouped(problems: "Sequence[Problem]") -> "list[tuple[tuple[str, str], list[Problem]]]":
    """Problems by severity, what puts the record in doubt first, then by job; those of no job at the end of each."""
    found: dict[tuple[str, str], list[Problem]] = {}
    for one in problems:
        found.setdefault((one.severity, job_of(one.where)), []).append(one)
    return sorted(found.items(), key=lambda group: (group[0][0] != "refuse", not group[0][1], group[0][1]))


def job_of(where: str) -> str:
    """The job a place belongs to, by the folder or the release tag it names; empty where it names none."""
    found = _JOB.search(where)
    return found[1] if found else ""


def print_since(release: str, left_out: int, console: "Console") -> None:
    """What was not shown because it is older."""
    count = counted(left_out, "warning")
    wrapped(console, f"Since release {release}; {count} about records of before it not shown.")


def list_as_json(report: "ListReport") -> dict[str, object]:
    """The list with its columns, a row an object."""
    return {"list": report.name, "columns": list(report.columns), "rows": [dict(row) for row in report.rows]}


def print_list(report: "ListReport", console: "Console") -> None:
    """The list as a table; the record of each row stands under it."""
    columns = report.columns[:-1]
    if report.rows:
        rows = [[_as_day(row[name]) for name in columns] for row in report.rows]
        below = [[row["record"]] for row in report.rows]
        print_table(console, [name.capitalize() for name in columns], rows, below=below)
    wrapped(console, f"{counted(len(report.rows), 'entry', 'entries')} in the list {report.name}.")


def _as_day(cell: str) -> str:
    """``17 Jan 2026`` for a cell that is a date; JSON and tables for a spreadsheet keep 2026-01-17."""
    return words(date.fromisoformat(cell)) if _DATE.fullmatch(cell) else cell
