"""Real answers held against the shapes the reference states: no key that is not written down, none that is missing."""

import contextlib
import io
import json
from collections.abc import Iterator
from typing import Any

import pytest

from tests.cli.test_csv_tables import MORE
from tests.cli.test_what_quality_asks import rows as questions
from tests.fakes.busy_shop import BusyShop, ByteShop, good_calls
from tracker.cli.entry import main
from tracker.cli.verbs import VERBS
from tracker.reports.csv_rows import TABLES
from tracker.reports.json_shapes import ERROR, NO_JSON, PARTS, SHAPES, Shape, shape

SAMPLE = (
    "compare 4471/op10@r4 4471/op10@r5",
    "compare 4471/op10@r3 4471/op10@r4",
    "compare 4471@MILL2 4471@MILL3",
    "summary 4471/op10",
    "verify 4471",
    "show 4471/op10@r1",
    "show 4471/op10@r5",
    "history 4471 --on 2026-02-20",
    "history jobs/4471/op10/O1001.nc:61",
    "where --tool DRILL",
    "where --lot 9",
    "sheet 4471/op10 --machine MILL2",
    "status",
    "status --may-run",
    "identify sticks/BLUE-1/MILL2/O1001.NC --machine MILL2",
    "release 4471 --dry-run --by dg",
    "checkin",
)


def faults(of: Shape, said: Any, at: str = "") -> Iterator[str]:
    """How an object is not of a shape."""
    if of.free:
        return
    if not isinstance(said, dict):
        yield f"{at} is no object"
        return
    yield from (f"{at}.{name} is not written down" for name in said if name not in of.keys)
    for name, key in of.keys.items():
        if name not in said:
            if not key.optional:
                yield f"{at}.{name} is missing"
        elif key.of is None:
            continue
        elif key.many and not isinstance(said[name], list):
            yield f"{at}.{name} is no list"
        else:
            for one in said[name] if key.many else [said[name]]:
                if one is not None or key.many:
                    yield from faults(key.of, one, f"{at}.{name}")


def of_answer(verb: str, said: dict[str, Any]) -> list[str]:
    text = ERROR if "error" in said else SHAPES[verb]
    return [*faults(shape(f"schema {text}"), said, verb)]


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    return tmp_path_factory.mktemp("shapes") / "kept"


@pytest.mark.parametrize("verb", sorted(SHAPES))
@pytest.mark.parametrize("more", [False, True])
def test_a_good_answer_has_its_shape(kept, capsysbinary, monkeypatch, tmp_path, verb, more):
    monkeypatch.chdir(tmp_path)
    shop = BusyShop(kept).copy(tmp_path / "here", lambda folder: ByteShop(folder, capsysbinary, monkeypatch))
    if more and verb not in MORE:
        return
    _, out, _ = shop.call(*(MORE[verb] if more else good_calls(shop)[verb]), "--json")
    said = json.loads(out)
    assert "error" not in said
    assert of_answer(verb, said) == []


def answers(folder, calls) -> Iterator[tuple[str, dict[str, Any]]]:
    for call in calls:
        out = io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
            main(["-C", str(folder), *call.split(), "--json"])
        yield call, json.loads(out.getvalue())


def test_answers_of_the_sample_shop_have_their_shape(project, threepenny_once, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-03-20T13:00:00Z")
    calls = [*SAMPLE, *questions(project).values()]
    found = {call: of_answer(call.split()[0], said) for call, said in answers(threepenny_once, calls)}
    assert {call: wrong for call, wrong in found.items() if wrong} == {}
    assert len(found) > 35


def test_errors_have_theirs(threepenny_once):
    calls = ["status --machine MILL9", "release 4488 --by dg --yes", "compare nothing.nc nowhere.nc"]
    for call, said in answers(threepenny_once, calls):
        assert "error" in said, call
        assert of_answer(call.split()[0], said) == []


def test_every_verb_has_a_shape_or_answers_otherwise():
    assert set(SHAPES) | NO_JSON == {verb.name for verb in VERBS}
    assert not set(SHAPES) & NO_JSON


def test_every_table_of_csv_is_a_list_of_its_shape():
    for verb, keys in TABLES.items():
        for key in keys:
            assert shape(SHAPES[verb]).keys[key].many, (verb, key)


def test_every_part_is_used():
    text = " ".join([*SHAPES.values(), *PARTS.values()])
    assert [
        part
        for part in PARTS
        if part not in text.replace("[", " ").replace("]", " ").split() and f"{{{part}}}" not in text
    ] == []


@pytest.mark.parametrize(
    ("said", "wrong"),
    [
        ({"a": 1, "rows": []}, []),
        ({"a": 1, "rows": [{"b": 1}], "side": None, "more": 3}, []),
        ({"rows": []}, [".a is missing"]),
        ({"a": 1, "rows": [], "x": 2}, [".x is not written down"]),
        ({"a": 1, "rows": [{"c": 1}]}, [".rows.c is not written down", ".rows.b is missing"]),
        ({"a": 1, "rows": {}}, [".rows is no list"]),
        ({"a": 1, "rows": [], "side": {"d": 1}}, [".side.c is missing"]),
        ({"a": 1, "rows": [3]}, [".rows is no object"]),
    ],
)
def test_what_is_not_of_a_shape_is_found(said, wrong):
    assert [*faults(shape("a rows[b] side?{c d?} more?"), said)] == wrong


@pytest.mark.parametrize("text", ["a[b", "a{b]", "a]", "a[b]]"])
def test_a_shape_with_a_bracket_wrong(text):
    with pytest.raises(ValueError, match="bracket"):
        shape(text)
