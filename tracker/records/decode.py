"""Records from the mappings their files hold; `tracker.records.encode` says what their form is, and writes them.

Which keys there are, and of which kind, follows from the dataclasses in `tracker.records.events`. How the values of a
class are read is worked out once: a shop reads thousands of records of a dozen classes.
"""

from collections.abc import Callable, Mapping
from collections.abc import Set as AbstractSet
from datetime import datetime
from functools import cache
from types import GenericAlias, NoneType, UnionType

from tracker.clock import parse_time
from tracker.errors import CouldNot
from tracker.frozen import is_made_here, required_of, types_of
from tracker.records.events import EVENTS, FORMAT, AnyRecord, Origin, Step

KEY_OF = {"from_revision": "from"}
"""Fields that are called otherwise in the file."""
_SAYINGS = 4096
_FIELD_OF = {key: name for name, key in KEY_OF.items()}

Place = tuple[str, ...]
"""Keys and list places that lead to a table of the record."""
Unknown = dict[str, object]
"""What this version does not know, by its path in the record."""
Read = Callable[[object, str, Place, Unknown], object]
"""Value, its key, its place in the record, where to put what is not known -> the value a field holds."""


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
    known = _readers(cls)
    extra = {key: value for key, value in mapping.items() if key not in known and key != "event"}
    inside: Unknown = {}
    try:
        values = _values(cls, {key: value for key, value in mapping.items() if key in known}, (), inside)
        made: AnyRecord = cls(**values, extra=extra | inside)
    except (TypeError, ValueError) as fault:
        raise _damaged(str(fault)) from fault
    return made


def _newer(why: str) -> CouldNot:
    return CouldNot("newer-record", why, fix="install the newer version of proveout that wrote it")


def _damaged(why: str) -> CouldNot:
    return CouldNot(
        "damaged-record", why, fix="bring the file back from the history; records are never edited"
    )


def _values(cls: type, mapping: Mapping[str, object], place: Place, unknown: Unknown) -> dict[str, object]:
    """The arguments for ``cls``; raises ValueError naming the key that is missing or of the wrong kind."""
    readers = _readers(cls)
    values: dict[str, object] = {}
    for key, value in mapping.items():
        if key in readers:
            name, read = readers[key]
            values[name] = read(value, key, (*place, key), unknown)
        else:  # in a table of the record: said by a newer version
            unknown["/".join([*place, key])] = value
    missing = [KEY_OF.get(name, name) for name in _required(cls) if name not in values]
    if missing:
        raise ValueError(f"the record does not say {', '.join(missing)}")
    return values


@cache
def _required(cls: type) -> tuple[str, ...]:
    return required_of(cls)


@cache
def _readers(cls: type) -> dict[str, tuple[str, Read]]:
    """By key of the file: the field, and how its values are read."""
    found = {
        KEY_OF.get(name, name): (name, _reader(kind))
        for name, kind in types_of(cls).items()
        if name != "extra"
    }
    if cls is Origin:
        found["sections"] = ("sections", _sections)
    return found


def _reader(kind: object) -> Read:
    """How a value is read that is to be as the annotation ``kind`` wants it."""
    if isinstance(kind, UnionType):
        kind = next(one for one in kind.__args__ if one is not NoneType)
    if isinstance(kind, GenericAlias):
        return _table if kind.__origin__ is Mapping else _list_reader(_reader(kind.__args__[0]))
    if isinstance(kind, type) and is_made_here(kind):
        return _noun_reader(kind)
    if kind is datetime:
        return _moment
    return _figure if kind is float else _plain_reader(kind)


def _plain_reader(kind: object) -> Read:
    def read(value: object, key: str, place: Place, unknown: Unknown) -> object:  # noqa: ARG001 - as Read has it
        if type(value) is kind:
            return value
        raise _wrong(value, key)

    return read


def _list_reader(item: Read) -> Read:
    def read(value: object, key: str, place: Place, unknown: Unknown) -> object:
        if isinstance(value, list):
            return tuple([item(one, key, (*place, str(at)), unknown) for at, one in enumerate(value)])
        raise _wrong(value, key)

    return read


def _noun_reader(noun: type) -> Read:
    def read(value: object, key: str, place: Place, unknown: Unknown) -> object:
        if isinstance(value, Mapping):
            return noun(**_values(noun, value, place, unknown))
        raise _wrong(value, key)

    return _seen_before(noun, read) if noun is not Step else _same_again(read, _readers(noun).keys())


def _seen_before(noun: type, read: Read) -> Read:
    """The same, quicker for what is said by the thousand, like the files of an export.

    Keys and kinds of values that were read once without a fault are good each time, where every value is taken as it is.
    """
    kinds = types_of(noun)
    as_it_is = {name for name, kind in kinds.items() if name not in KEY_OF and _plain_kind(kind)}
    seen: set[tuple[object, ...]] = set()

    def again(value: object, key: str, place: Place, unknown: Unknown) -> object:
        if type(value) is not dict:
            return read(value, key, place, unknown)
        form = (*value, *map(type, value.values()))
        if form in seen:
            return noun(**value)
        made = read(value, key, place, unknown)
        if as_it_is >= value.keys() and len(seen) < _SAYINGS:
            seen.add(form)
        return made

    return again


def _plain_kind(kind: object) -> bool:
    """Whether a value as the annotation wants it is what stands in the file."""
    if isinstance(kind, UnionType):
        kind = next(one for one in kind.__args__ if one is not NoneType)
    return kind in (str, int, bool)


def _same_again(read: Read, known: AbstractSet[str]) -> Read:
    """The same for a noun without tables in it that is said alike in thousands of records: each saying is read once.

    Equal values of other kinds (1, 1.0, true) are other sayings; what a newer version adds is read each time.
    """
    made: dict[object, object] = {}

    def again(value: object, key: str, place: Place, unknown: Unknown) -> object:
        if not isinstance(value, dict) or not known >= value.keys():
            return read(value, key, place, unknown)
        said = (*value, *value.values(), *map(type, value.values()))
        try:
            found = made.get(said)
        except TypeError:  # a list where none belongs
            return read(value, key, place, unknown)
        if found is None:
            found = read(value, key, place, unknown)
            if len(made) < _SAYINGS:
                made[said] = found
        return found

    return again


_sections_list = _list_reader(_plain_reader(str))


def _sections(value: object, key: str, place: Place, unknown: Unknown) -> object:
    return None if value == "all" else _sections_list(value, key, place, unknown)


def _table(value: object, key: str, place: Place, unknown: Unknown) -> object:  # noqa: ARG001
    if isinstance(value, Mapping):
        return dict(value)
    raise _wrong(value, key)


def _figure(value: object, key: str, place: Place, unknown: Unknown) -> object:  # noqa: ARG001
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    raise _wrong(value, key)


def _moment(value: object, key: str, place: Place, unknown: Unknown) -> object:  # noqa: ARG001
    if not isinstance(value, str):
        raise _wrong(value, key)
    try:
        return parse_time(value)
    except ValueError as fault:
        raise ValueError(f"{key} is no time with its zone: {value!r}") from fault


def _wrong(value: object, key: str) -> ValueError:
    return ValueError(f"{key} is of the wrong kind: {value!r}")
