"""Who was listed on a day, for people and as JSON."""

from datetime import date
from typing import TYPE_CHECKING

from tracker.policy.days import words
from tracker.reports.table import print_table, say, visible

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.people_on import Listed, PeopleReport

_HEADERS = ("who", "name", "that day", "roles", "since", "left", "keys")


def as_json(report: "PeopleReport") -> dict[str, object]:
    """The day, the state shop.toml was taken from, and everybody in it."""
    return {
        "day": report.day.isoformat(),
        "commit": report.commit,
        "people": [_person(one) for one in report.people],
    }


def print_text(report: "PeopleReport", console: "Console") -> None:
    """A row for each person."""
    if report.commit is None:
        say(console, f"On {words(report.day)} there was no shop.toml yet: nobody was listed.")
        return
    say(console, f"By shop.toml at the end of {words(report.day)}:")
    rows = [
        (
            visible(one.person.initials),
            visible(one.person.name),
            "listed" if one.here else "not listed",
            ", ".join(one.person.roles) or "none",
            _day(one.person.since),
            _day(one.person.left),
            ", ".join(one.keys) or "none",
        )
        for one in report.people
    ]
    below = [(f"since then: {one.since_then}",) if one.since_then else () for one in report.people]
    print_table(console, _HEADERS, rows, below=below)


def _day(day: date | None) -> str:
    return words(day) if day else ""


def _person(one: "Listed") -> dict[str, object]:
    person = one.person
    data: dict[str, object] = {
        "initials": person.initials,
        "name": person.name,
        "email": person.email,
        "listed": one.here,
        "roles": list(person.roles),
        "since": person.since.isoformat() if person.since else None,
        "left": person.left.isoformat() if person.left else None,
        "keys": list(one.keys),
    }
    if one.since_then:
        data["since_then"] = one.since_then
    return data
