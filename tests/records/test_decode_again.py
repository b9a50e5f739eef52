"""What is said alike in many records is read once; what only looks alike is not."""

import pytest

from tracker.errors import CouldNot
from tracker.records.decode import from_mapping

PROOF = {
    "format": 1,
    "event": "proof",
    "job": "4471",
    "operation": "op10",
    "revision": "r0001-00000000",
    "at": "2026-03-11T09:15:02Z",
    "entered": "2026-03-11T09:15:02Z",
    "by": "kp",
    "machine": "MILL2",
    "operation_fingerprint": "0" * 64,
    "rule_version": 1,
    "result": "accepted",
}


def steps(*said):
    return from_mapping(PROOF | {"steps": list(said)}).steps


def test_one_saying_is_one_step():
    first, second = steps({"step": "P1", "done": True}, {"step": "P1", "done": True})
    assert first is second
    other = steps({"done": True, "step": "P1"})[0]
    assert other == first


@pytest.mark.parametrize("done", [1, 1.0, "true", None, [True]])
def test_a_value_of_another_kind_is_refused_behind_its_like(done):
    steps({"step": "P1", "done": True})
    with pytest.raises(CouldNot, match="done is of the wrong kind"):
        steps({"step": "P1", "done": done})


def test_a_figure_is_a_figure_and_what_is_new_is_kept():
    assert [one.value for one in steps({"step": "P9", "done": True, "value": 100})] == [100.0]
    assert isinstance(steps({"step": "P9", "done": True, "value": 100})[0].value, float)
    record = from_mapping(PROOF | {"steps": [{"step": "P1", "done": True, "mood": "good"}]})
    assert record.extra == {"steps/0/mood": "good"}
    with pytest.raises(CouldNot, match="does not say done"):
        steps({"step": "P1"})


def on_stick(*said):
    export = {key: PROOF[key] for key in ("format", "job", "at", "entered", "by", "machine")}
    rest = {"event": "export", "stick": "BLUE-1", "purpose": "released", "manifest": "0" * 64}
    return from_mapping(export | rest | {"files": list(said)})


FILE = {"path": "O1.NC", "sha256": "0" * 64, "release": 1}


def test_files_said_in_the_same_form_each_have_their_own_values():
    files = on_stick(
        FILE, FILE | {"path": "O2.NC", "release": 2}, {"sha256": "1" * 64, "path": "O3.NC"}
    ).files
    assert [(one.path, one.sha256[0], one.release) for one in files] == [
        ("O1.NC", "0", 1),
        ("O2.NC", "0", 2),
        ("O3.NC", "1", None),
    ]


@pytest.mark.parametrize("release", [1.0, True, "1", None, [1]])
def test_a_file_with_a_value_of_another_kind_is_refused_behind_its_like(release):
    on_stick(FILE)
    with pytest.raises(CouldNot, match="release is of the wrong kind"):
        on_stick(FILE, FILE | {"release": release})


def test_what_a_file_is_said_to_have_that_is_new_is_kept_each_time():
    record = on_stick(FILE, FILE | {"mood": "good"}, FILE | {"mood": "good"})
    assert record.extra == {"files/1/mood": "good", "files/2/mood": "good"}
    with pytest.raises(CouldNot, match="does not say sha256"):
        on_stick(FILE, {"path": "O2.NC"})
