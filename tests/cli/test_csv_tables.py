"""``--csv``: the rows of JSON, read back with Python's csv module as a spreadsheet would."""

import codecs
import csv
import io
import json

import pytest

from tests.fakes.busy_shop import BusyShop, ByteShop, good_calls
from tracker.cli.verbs import VERBS
from tracker.reports.csv_rows import TABLES, csv_bytes

TABULAR = sorted(set(TABLES) - {"collect"})
MORE = {
    "audit": ["audit", "--list", "lapse"],
    "history": ["history", "--people-on", "2026-02-05"],
    "verify": ["verify", "--list"],
}


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    return tmp_path_factory.mktemp("csv") / "kept"


@pytest.fixture
def shop(kept, capsysbinary, monkeypatch, tmp_path) -> ByteShop:
    monkeypatch.chdir(tmp_path)
    return BusyShop(kept).copy(tmp_path / "here", lambda folder: ByteShop(folder, capsysbinary, monkeypatch))


def table(data: bytes) -> list[dict[str, str]]:
    assert data.startswith(codecs.BOM_UTF8)
    assert b"\r\r\n" not in data
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))


def rows_of(verb: str, body: dict) -> list[dict]:
    return next(body[key] for key in TABLES[verb] if key in body)


@pytest.mark.parametrize(
    ("verb", "more"), [*((verb, False) for verb in TABULAR), *((verb, True) for verb in MORE)]
)
def test_the_table_has_the_rows_of_json(shop, verb, more):
    call = MORE[verb] if more else good_calls(shop)[verb]
    status, said, _ = shop.call(*call, "--json")
    rows = rows_of(verb, json.loads(said))
    got, out, err = shop.call(*call, "--csv")
    assert (got, err) == (status, b"" if isinstance(err, bytes) else "")
    found = table(out if isinstance(out, bytes) else out.encode())
    assert len(found) == len(rows)
    for cells, row in zip(found, rows, strict=True):
        for key, value in row.items():
            if isinstance(value, str) and value[:1] not in ("=", "+", "-", "@"):
                assert cells[key].replace("\r\n", "\n") == value
            elif isinstance(value, bool):
                assert cells[key] == ("yes" if value else "no")
            elif value is None:
                assert cells.get(key, "") == ""


def test_every_table_is_of_a_verb():
    assert set(TABLES) <= {verb.name for verb in VERBS}


def test_lists_and_objects_in_a_cell():
    body = {
        "changes": [{"kind": "feed", "old": {"line": 3, "text": "G1 F5."}, "kinds": ["a", "b"], "new": None}]
    }
    assert table(csv_bytes("compare", body)) == [
        {"kind": "feed", "old.line": "3", "old.text": "G1 F5.", "kinds": "a; b", "new": ""}
    ]


def test_a_text_that_a_spreadsheet_would_reckon_is_text():
    body = {"events": [{"reason": '=HYPERLINK("http://x")'}]}
    assert table(csv_bytes("history", body)) == [{"reason": '\'=HYPERLINK("http://x")'}]


def test_no_rows():
    assert csv_bytes("status", {"operations": []}).startswith(codecs.BOM_UTF8)


@pytest.mark.parametrize("verb", TABULAR)
def test_csv_and_json_do_not_go_together(shop, verb):
    got, out, _ = shop.call(*good_calls(shop)[verb], "--csv", "--json")
    assert got == 2
    assert json.loads(out)["error"]["name"] == "wrong-call"


def test_the_tools_of_a_sheet_are_a_tool_list(shop):
    _, out, _ = shop.call("sheet", "4471/op10@r1", "--machine", "MILL2", "--csv")
    shop.put("tools.csv", out if isinstance(out, bytes) else out.encode())
    got, said, err = shop.call("new", "4491", "loose/unknown.nc", "--tools", "tools.csv", "--json")
    assert got == 0, err
    (operation,) = json.loads(said)["operations"]
    listed = {tool["number"]: tool["listed"] for tool in operation["tools"]}
    assert listed[4]["stick_out"] == 2.5
