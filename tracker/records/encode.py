"""Records to the mappings their files hold; `tracker.records.decode` reads them.

The form of a file is fixed, since records outlive this code:

- every record opens with format, event, job, operation, revision, at, entered, by, entered_by, reason, clock, copy;
- times are strings ending in Z; what was not computed is left out, never empty;
- ``from_revision`` of a review is ``from`` in the file; the sections of an origin are a list, or ``"all"`` (None here);
- keys this version does not know are kept in ``extra`` and written again; one inside a table of the record goes by its
  path there (``files/0/colour``).
"""

from collections.abc import Mapping
from datetime import date, datetime, time

from tracker.clock import utc_text
from tracker.frozen import is_made_here, names_of
from tracker.records.decode import KEY_OF
from tracker.records.events import AnyRecord, Origin, Record, RevisionRecord
from tracker.records.shop import Machine

_OPENING = (
    "format",
    "event",
    "job",
    "operation",
    "revision",
    "at",
    "entered",
    "by",
    "entered_by",
    "reason",
    "clock",
    "copy",
)
# computed and found empty says something here; anywhere else an empty list is left out
_SAID_WHEN_EMPTY = frozenset({(Origin, "kinds"), (Origin, "sections")})
_SAID_WHEN_FALSE = frozenset({"strict", "done"})


def to_mapping(record: AnyRecord) -> dict[str, object]:
    """What stands in the file of ``record``: plain values only, in the order they are written."""
    values = _plain_fields(record)
    values["event"] = record.EVENT
    extra = values.pop("extra", {})
    if isinstance(record, RevisionRecord) and record.checks_version is not None:
        # checks ran: that they found nothing, and that nothing was waived, is a result
        values["findings"] = values.get("findings", [])
        values["waivers"] = values.get("waivers", [])
    ordered = {key: values[key] for key in _OPENING if key in values}
    ordered |= {key: value for key, value in values.items() if key not in ordered}
    if isinstance(extra, dict):
        for key, value in extra.items():
            _put_back(ordered, key, value)
    return ordered


def machine_profile(machine: Machine) -> dict[str, object]:
    """What a proof keeps of the machine as it was then; what is not stated is left out."""
    return _plain_fields(machine)


def _plain_fields(value: object) -> dict[str, object]:
    """The fields of a dataclass as plain values, empty ones left out."""
    plain: dict[str, object] = {}
    for name in names_of(type(value)):
        held = getattr(value, name)
        if name == "sections" and held is None:
            held = "all"
        said_when_empty = (type(value), name) in _SAID_WHEN_EMPTY
        if held is None or (held in ((), {}) and not said_when_empty):
            continue
        if held is False and isinstance(value, Record) and name not in _SAID_WHEN_FALSE:
            continue
        plain[KEY_OF.get(name, name)] = _plain(held)
    return plain


def _plain(value: object) -> object:
    """A value as TOML and JSON know it."""
    if isinstance(value, datetime):
        return utc_text(value)
    if isinstance(value, date | time):
        return value.isoformat()
    if is_made_here(value):
        return _plain_fields(value)
    if isinstance(value, Mapping):
        return {str(key): _plain(held) for key, held in value.items() if held is not None}
    if isinstance(value, tuple | list):
        return [_plain(held) for held in value]
    return value


def _put_back(ordered: dict[str, object], key: str, value: object) -> None:
    """Write an unknown key to where it was read from."""
    *path, last = key.split("/")
    place: object = ordered
    for step in path:
        if isinstance(place, list) and step.isdecimal() and int(step) < len(place):
            place = place[int(step)]
        elif isinstance(place, dict) and step in place:
            place = place[step]
        else:  # no path into the record: a key that happens to hold a stroke
            place, last = ordered, key
            break
    if isinstance(place, dict):
        place.setdefault(last, value)
