"""Where a revision went, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.clock import utc_text
from tracker.policy.find import same_name
from tracker.policy.spelled import counted
from tracker.reports.table import print_table, say, visible, wrapped
from tracker.reports.times import moment, zone
from tracker.services.where import LIMIT

if TYPE_CHECKING:
    from tracker.reports.screen import Screen
    from tracker.services.where import Place, WhereReport

HEADERS = ("at", "what", "machine", "stick", "of", "by", "")


def as_json(report: "WhereReport") -> dict[str, object]:
    """``machines``, ``sticks``, and ``places``, one for each thing the record knows; what it cannot know."""
    data: dict[str, object] = {
        "job": report.job,
        "operation": report.operation,
        "revision": report.revision,
        "machines": list(report.machines),
        "sticks": list(report.sticks),
        "places": [_place(one) for one in report.places],
        "limit": LIMIT,
    }
    if report.unreadable:
        data["unreadable"] = list(report.unreadable)
    return data


def print_text(report: "WhereReport", console: "Screen") -> None:
    """A row for each, files under it, the sums, and the sentence on what no record can know."""
    name = f"{report.job}/{report.operation} {report.revision}"
    if report.places:
        rows = [
            (
                moment(one.at, zone(report.timezone)),
                one.what,
                one.machine or "-",
                one.stick or "-",
                _of(one, report),
                one.by,
                _said(one),
            )
            for one in report.places
        ]
        print_table(console, HEADERS, rows, below=[_files(one) for one in report.places])
        machines, sticks = counted(len(report.machines), "machine"), counted(len(report.sticks), "stick")
        wrapped(console, f"{name}: {machines} ({_list(report.machines)}), {sticks} ({_list(report.sticks)}).")
        if report.parts:
            wrapped(console, f"Programs it calls, beside another text: {_list(report.parts)}.")
    else:
        say(console, visible(f"Nothing is recorded of {name} on a stick or a machine."))
    for bad in report.unreadable:
        wrapped(console, f"not readable, and may have held more: {bad}")
    wrapped(console, LIMIT)


def _list(names: tuple[str, ...]) -> str:
    return ", ".join(names) or "none"


def _of(one: "Place", report: "WhereReport") -> str:
    """The revision a record names; of another operation with its name, since r4 there is another text than r4 here."""
    own = same_name(one.job, report.job) and same_name(one.operation, report.operation)
    revision = one.revision or "-"
    return revision if own or one.job is None else visible(f"{one.job}/{one.operation} {revision}")


def _said(one: "Place") -> str:
    alike = "" if one.same_text else "a called program" if one.part else "same code"
    marks = ("STRUCK" if one.struck else "", alike, one.words)
    return ", ".join(filter(None, marks))


def _files(one: "Place") -> tuple[str, ...]:
    return (", ".join(one.files),) if one.files else ()


def _place(one: "Place") -> dict[str, object]:
    return {
        "what": one.what,
        "at": utc_text(one.at),
        "machine": one.machine,
        "stick": one.stick,
        "files": list(one.files),
        "job": one.job,
        "operation": one.operation,
        "revision": one.revision,
        "same_text": one.same_text,
        "part": one.part,
        "words": one.words,
        "by": one.by,
        "record": one.record,
        "struck": one.struck,
    }
