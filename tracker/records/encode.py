"""Records to and from the mappings their files hold.

The form of a file is fixed, since records outlive this code:

- every record opens with format, event, job, operation, revision, at, entered, by, entered_by, reason, clock;
- times are strings ending in Z; what was not computed is left out, never empty;
- ``from_revision`` of a review is ``from`` in the file; the sections of an origin are a list, or ``"all"`` (None here);
- keys this version does not know are kept in ``extra`` and written again; one inside a table of the record goes by its
  path there (``files/0/colour``).

Which keys there are follows from the dataclasses in `tracker.records.events`.
"""

import dataclasses
import types
import typing
from collections.abc import Iterator, Mapping
from datetime import date, datetime, time
from functools import cache

from tracker.clock import parse_time, utc_text
from tracker.errors import CouldNot
from tracker.records.events import EVENTS, FORMAT, AnyRecord, Origin, Record, RevisionRecord
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
)
_KEY_OF = {"from_revision": "from"}
_FIELD_OF = {key: name for name, key in _KEY_OF.items()}
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


def from_mapping(mapping: Mapping[str, object]) -> AnyRecord:
    """The record a file's mapping holds.

    Raises:
        CouldNot: ``newer-record`` when the format or the event is none this version knows; ``damaged-record`` when a
            value is missing or of the wrong kind.
    """
    form = mapping.get("format")
    if isinstance(form, int) and not isinstance(form, bool) and form > FORMAT:
        raise _newer(f"the record is of format {form}, this version reads {FORMAT}")
    if form != FORMAT or isinstance(form, bool):
        raise _damaged("the record does not say its format")
    event = mapping.get("event")
    if not isinstance(event, str):
        raise _damaged("the record does not say what happened (event)")
    if event not in EVENTS:
        raise _newer(f"the record tells of {event!r}, which this version does not know")
    cls: type = EVENTS[event]  # a plain type: which of them, the event decides at run time
    known = {_KEY_OF.get(name, name) for name in _annotations(cls)} - {"extra"} | {"event"}
    extra = {key: value for key, value in mapping.items() if key not in known}
    extra |= dict(_unknown_inside(cls, mapping, ()))
    try:
        values = _field_values(cls, {key: value for key, value in mapping.items() if key in known})
        return typing.cast(AnyRecord, cls(**values, extra=extra))
    except (TypeError, ValueError) as fault:
        raise _damaged(str(fault)) from fault


def machine_profile(machine: Machine) -> dict[str, object]:
    """What a proof keeps of the machine as it was then; what is not stated is left out."""
    return _plain_fields(machine)


def _newer(why: str) -> CouldNot:
    return CouldNot("newer-record", why, fix="install the newer version of proveout that wrote it")


def _damaged(why: str) -> CouldNot:
    return CouldNot(
        "damaged-record", why, fix="bring the file back from the history; records are never edited"
    )


def _plain_fields(value: object) -> dict[str, object]:
    """The fields of a dataclass as plain values, empty ones left out."""
    plain: dict[str, object] = {}
    for one in dataclasses.fields(typing.cast(typing.Any, value)):
        held = getattr(value, one.name)
        if one.name == "sections" and held is None:
            held = "all"
        said_when_empty = (type(value), one.name) in _SAID_WHEN_EMPTY
        if held is None or (held in ((), {}) and not said_when_empty):
            continue
        if held is False and isinstance(value, Record) and one.name not in _SAID_WHEN_FALSE:
            continue
        plain[_KEY_OF.get(one.name, one.name)] = _plain(held)
    return plain


def _plain(value: object) -> object:
    """A value as TOML and JSON know it."""
    if isinstance(value, datetime):
        return utc_text(value)
    if isinstance(value, date | time):
        return value.isoformat()
    if dataclasses.is_dataclass(value):
        return _plain_fields(value)
    if isinstance(value, Mapping):
        return {str(key): _plain(held) for key, held in value.items() if held is not None}
    if isinstance(value, tuple | list):
        return [_plain(held) for held in value]
    return value


@cache
def _annotations(cls: type) -> dict[str, typing.Any]:
    return {
        name: kind
        for name, kind in typing.get_type_hints(cls).items()
        if typing.get_origin(kind) is not typing.ClassVar
    }


def _field_values(cls: type, mapping: Mapping[str, object]) -> dict[str, typing.Any]:
    """The arguments for ``cls``; raises ValueError naming the key that is missing or of the wrong kind."""
    kinds = _annotations(cls)
    values: dict[str, typing.Any] = {}
    for key, value in mapping.items():
        name = _FIELD_OF.get(key, key)
        if name not in kinds:
            continue  # in a table of the record: said by a newer version, kept in extra
        if name == "sections" and value == "all":
            values[name] = None
        else:
            values[name] = _read(kinds[name], value, key)
    required = (
        one.name
        for one in dataclasses.fields(typing.cast(typing.Any, cls))
        if one.default is dataclasses.MISSING and one.default_factory is dataclasses.MISSING
    )
    missing = [_KEY_OF.get(name, name) for name in required if name not in values]
    if missing:
        raise ValueError(f"the record does not say {', '.join(missing)}")
    return values


def _unknown_inside(
    cls: type, mapping: Mapping[str, object], path: tuple[str, ...]
) -> Iterator[tuple[str, object]]:
    """Keys of the tables inside a record that this version does not know, by their path."""
    kinds = _annotations(cls)
    for key, value in mapping.items():
        name = _FIELD_OF.get(key, key)
        if name not in kinds:
            if path:
                yield "/".join([*path, key]), value
            continue
        inner = _noun_in(kinds[name])
        rows = value if isinstance(value, list) else [value]
        for at, row in enumerate(rows if inner else ()):
            if isinstance(row, Mapping) and inner:
                place = (*path, key, str(at)) if isinstance(value, list) else (*path, key)
                yield from _unknown_inside(inner, row, place)


def _noun_in(kind: object) -> type | None:
    """The dataclass a field holds, by itself or as the items of a tuple; None for plain values."""
    if dataclasses.is_dataclass(kind):
        return typing.cast(type, kind)
    return next((noun for one in typing.get_args(kind) if (noun := _noun_in(one))), None)


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


def _read(kind: object, value: object, key: str) -> object:
    """``value`` as the annotation ``kind`` wants it."""
    origin = typing.get_origin(kind)
    if origin in (typing.Union, types.UnionType):
        kind = next(one for one in typing.get_args(kind) if one is not type(None))
        origin = typing.get_origin(kind)
    if origin is tuple and isinstance(value, list):
        return tuple(_read(typing.get_args(kind)[0], held, key) for held in value)
    if origin is Mapping and isinstance(value, Mapping):
        return dict(value)
    if kind is datetime and isinstance(value, str):
        return _moment(value, key)
    if kind is float and isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    if dataclasses.is_dataclass(kind) and isinstance(value, Mapping):
        return typing.cast(typing.Callable[..., object], kind)(
            **_field_values(typing.cast(type, kind), value)
        )
    if kind in (str, bool, int) and type(value) is kind:
        return value
    raise ValueError(f"{key} is of the wrong kind: {value!r}")


def _moment(text: str, key: str) -> datetime:
    try:
        return parse_time(text)
    except ValueError as fault:
        raise ValueError(f"{key} is no time with its zone: {text!r}") from fault
