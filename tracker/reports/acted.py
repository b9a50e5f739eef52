"""The answer of the small verbs: what was put down, and how things stand now."""

from typing import TYPE_CHECKING

from tracker.clock import utc_text
from tracker.policy.states import Standing, standing_words
from tracker.records.encode import to_mapping
from tracker.records.events import AnyRecord
from tracker.reports.table import wrapped
from tracker.services.acted import Acted, SeenOn

if TYPE_CHECKING:
    from rich.console import Console

_OPENING = ("job", "operation", "revision", "machine", "by", "entered_by", "reason")


def as_json(report: Acted) -> dict[str, object]:
    """The records as they stand in their files, with their paths; ``standings`` afterwards."""
    first = report.records[0]
    return {
        "said": report.said,
        "event": first.EVENT,
        **{key: getattr(first, key, None) for key in _OPENING},
        "at": utc_text(first.at),
        "records": [
            record_json(record, path) for record, path in zip(report.records, report.paths, strict=True)
        ],
        "standings": [_seen_json(one) for one in report.standings],
        "notes": list(report.notes),
    }


def record_json(record: AnyRecord, path: str) -> dict[str, object]:
    """A record with its path; what a strike struck stands under ``struck``."""
    mapping = to_mapping(record)
    if "record" in mapping:
        mapping["struck"] = mapping.pop("record")
    return {"record": path, **mapping}


def standing_json(standing: Standing) -> dict[str, object]:
    """A standing for a script: state, reason, what clears it."""
    return {"standing": standing.state, "reason": standing.reason, "clears": list(standing.clears)}


def _seen_json(one: SeenOn) -> dict[str, object]:
    return {"revision": one.spelled, "machine": one.machine, **standing_json(one.standing)}


def print_text(report: Acted, console: "Console") -> None:
    """One line of what was done, the standing on each machine, what a person should know."""
    wrapped(console, f"{report.said}.")
    for one in report.standings:
        print_standing(console, f"{one.spelled} on {one.machine}", one.standing)
    for note in report.notes:
        wrapped(console, f"note: {note}")


def print_standing(console: "Console", what: str, standing: Standing) -> None:
    """``4471/op10 r5 on MILL2: CARRIED over from r2 ...`` and what clears what is in the way."""
    wrapped(console, f"{what}: {standing_words(standing.state, standing.reason)}", indent="  ")
    for command in standing.clears:
        wrapped(console, f"to clear it: {command}", indent="    ")
