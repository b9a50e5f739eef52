"""Records to mappings and back: nothing lost, form as fixed."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracker.errors import CouldNot
from tracker.records.decode import from_mapping
from tracker.records.encode import machine_profile, to_mapping
from tracker.records.events import (
    EVENTS,
    FileOf,
    FirstPiece,
    MeasuredRecord,
    Origin,
    ProofRecord,
    ReviewRecord,
    RevisionRecord,
    Step,
)
from tracker.records.shop import Axes, Machine, Travel
from tracker.store.toml_files import dump_record, load_record

AT = datetime(2026, 3, 11, 9, 15, 2, tzinfo=UTC)
REVISION = RevisionRecord(
    job="4471",
    operation="op10",
    revision="r0003",
    at=AT,
    entered=AT,
    by="np",
    reason="T4 feed 15 to 12.5",
    operation_fingerprint="a" * 64,
    rule_version=1,
    sheet_fingerprint="b" * 64,
    files=(
        FileOf(
            path="jobs/4471/op10/O1001.nc",
            name="O1001.nc",
            number=1001,
            raw_sha256="c" * 64,
            fingerprint="d" * 64,
            dialect="word-address",
        ),
    ),
    origins=(
        Origin(revision="r0002-11223344", kinds=("feed", "format"), sections=("T4",), slower=0.833),
        Origin(revision="r0001-aabbccdd", kinds=(), sections=None),
        Origin(revision="r0001-00000000"),
    ),
)


def test_every_record_opens_with_the_same_keys_in_order():
    assert list(to_mapping(REVISION))[:8] == [
        "format",
        "event",
        "job",
        "operation",
        "revision",
        "at",
        "entered",
        "by",
    ]
    assert to_mapping(REVISION)["at"] == "2026-03-11T09:15:02Z"


def test_what_was_not_computed_is_left_out_and_never_empty():
    mapping = to_mapping(REVISION)
    assert not {
        "checks_version",
        "findings",
        "waivers",
        "post",
        "outside",
        "entered_by",
        "clock",
        "extra",
    } & set(mapping)
    assert mapping["strict"] is False


def test_checks_that_found_nothing_are_a_result():
    mapping = to_mapping(replace(REVISION, checks_version=2))
    assert mapping["findings"] == []
    assert mapping["waivers"] == []


def test_sections_are_a_list_or_all():
    origins = to_mapping(REVISION)["origins"]
    assert [one["sections"] for one in origins] == [["T4"], "all", []]
    assert [one.get("slower") for one in origins] == [0.833, None, None]
    assert origins[2]["kinds"] == []


def test_a_review_says_from():
    record = ReviewRecord(at=AT, entered=AT, by="dg", from_revision="r0002-11223344", kinds=("feed",))
    mapping = to_mapping(record)
    assert mapping["from"] == "r0002-11223344"
    assert "from_revision" not in mapping
    assert from_mapping(mapping) == record


def test_the_file_reads_back_as_the_record():
    data = dump_record(REVISION)
    assert load_record(data, "x.toml") == REVISION
    assert dump_record(load_record(data, "x.toml")) == data
    assert b"\r" not in data


def test_a_proof_reads_back_with_steps_profile_and_first_piece():
    machine = Machine(
        id="MILL2",
        type="mill",
        units="inch",
        rapid=Axes(x=900.0),
        travel=Travel(z=(-20.0, 0.0)),
        resident=(9001,),
    )
    proof = ProofRecord(
        at=AT,
        entered=AT,
        by="kp",
        machine="MILL2",
        operation_fingerprint="a" * 64,
        rule_version=1,
        machine_profile=machine_profile(machine),
        result="accepted",
        steps=(Step(step="P8", done=True, value=5.0), Step(step="P7", done=False, reason="no part yet")),
        first_piece=FirstPiece(report="2231", by="kp", result="accepted"),
        tools=("T5", "T6"),
    )
    assert load_record(dump_record(proof), "x.toml") == proof
    assert machine_profile(machine)["travel"] == {"z": [-20.0, 0.0]}
    assert "max_rpm" not in machine_profile(machine)
    assert "again" not in to_mapping(proof)
    assert to_mapping(replace(proof, again=True))["again"] is True


def test_unknown_keys_are_kept():
    data = dump_record(REVISION) + b'\n[colour]\nshade = "grey"\n'
    record = load_record(data, "x.toml")
    assert record.extra == {"colour": {"shade": "grey"}}
    assert b'shade = "grey"' in dump_record(record)


def test_unknown_keys_inside_a_table_of_the_record_are_kept_too():
    mapping = to_mapping(REVISION)
    mapping["files"][0]["colour"] = "grey"
    mapping["origins"][1]["deep"] = {"a": [1, {"b": 2}]}
    mapping["a/b"] = "a stroke"
    record = from_mapping(mapping)
    assert record.files == REVISION.files
    assert record.extra == {
        "files/0/colour": "grey",
        "origins/1/deep": {"a": [1, {"b": 2}]},
        "a/b": "a stroke",
    }
    assert to_mapping(record) == mapping


@pytest.mark.parametrize(
    ("change", "name", "what"),
    [
        ({"format": 2}, "newer-record", "format 2"),
        ({"format": True}, "damaged-record", "format"),
        ({"format": "1"}, "damaged-record", "format"),
        ({"event": "handover"}, "newer-record", "handover"),
        ({"event": 3}, "damaged-record", "event"),
        ({"at": "2026-03-11T09:15:02"}, "damaged-record", "zone"),
        ({"at": "yesterday"}, "damaged-record", "yesterday"),
        ({"by": 7}, "damaged-record", "by"),
        ({"strict": "yes"}, "damaged-record", "strict"),
        ({"rule_version": True}, "damaged-record", "rule_version"),
        ({"files": "none"}, "damaged-record", "files"),
        ({"files": [{"path": "a"}]}, "damaged-record", "name"),
        ({"origins": [{"revision": "r0001", "slower": "much"}]}, "damaged-record", "slower"),
    ],
)
def test_a_record_that_says_nothing_certain_is_refused(change, name, what):
    with pytest.raises(CouldNot) as caught:
        from_mapping({**to_mapping(REVISION), **change})
    assert caught.value.name == name
    assert what in caught.value.what


@pytest.mark.parametrize(
    "key", ["at", "entered", "by", "operation_fingerprint", "rule_version", "sheet_fingerprint"]
)
def test_a_missing_key_is_named(key):
    mapping = to_mapping(REVISION)
    del mapping[key]
    with pytest.raises(CouldNot) as caught:
        from_mapping(mapping)
    assert caught.value.name == "damaged-record"
    assert key in caught.value.what


TEXT = st.text(st.characters(blacklist_categories=("Cs",)), min_size=1, max_size=20)
MOMENT = st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC)).map(  # noqa: DTZ001
    lambda moment: moment.replace(microsecond=0)
)
MEASURED = st.builds(
    MeasuredRecord,
    job=st.none() | TEXT,
    at=MOMENT,
    entered=MOMENT,
    by=TEXT,
    reason=st.none() | TEXT,
    proof=TEXT,
    report=TEXT,
    result=st.sampled_from(["accepted", "rejected"]),
    extra=st.dictionaries(TEXT.map("later_".__add__), st.integers(-9, 9) | TEXT | st.booleans(), max_size=3),
)


@pytest.mark.parametrize("event", sorted(EVENTS))
@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_every_kind_of_record_reads_back(event, data):
    moments = {datetime: MOMENT, str: TEXT}
    record = data.draw(_any_record(EVENTS[event], moments))
    again = load_record(dump_record(record), "x.toml")
    assert again == record
    assert dump_record(again) == dump_record(record)


@given(MEASURED)
def test_extra_keys_survive(record):
    assert load_record(dump_record(record), "x.toml") == record


def _any_record(cls, moments):
    import dataclasses
    import typing

    hints = typing.get_type_hints(cls)
    return st.builds(
        cls,
        **{
            one.name: _strategy(hints[one.name], one.name, moments)
            for one in dataclasses.fields(cls)
            if one.name not in ("extra", "format")
        },
    )


def _strategy(kind, name, moments):
    import dataclasses
    import types
    import typing
    from collections.abc import Mapping

    origin, args = typing.get_origin(kind), typing.get_args(kind)
    if name == "prior":
        return st.none() | st.fixed_dictionaries({"evidence": TEXT})
    if origin in (typing.Union, types.UnionType):
        return st.none() | _strategy(next(one for one in args if one is not type(None)), name, moments)
    if origin is tuple:
        return st.lists(_strategy(args[0], name, moments), max_size=2).map(tuple)
    if origin is Mapping:
        return st.dictionaries(TEXT, TEXT | st.integers(0, 9) | st.booleans(), max_size=2)
    if dataclasses.is_dataclass(kind):
        return _any_record(kind, moments)
    plain = {bool: st.booleans(), int: st.integers(0, 10**6), float: st.floats(0, 10**6, allow_nan=False)}
    return plain.get(kind) if kind in plain else moments[kind]
