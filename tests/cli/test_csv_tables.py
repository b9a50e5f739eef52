"""``--csv``: the rows of JSON, read back with Python's csv module as a spreadsheet would."""

import ast
import codecs
import csv
import io
import json
from pathlib import Path

import pytest

from tests.fakes.busy_shop import BusyShop, ByteShop, good_calls
from tracker.cli.entry import main
from tracker.cli.verbs import VERBS
from tracker.reports.csv_rows import TABLES, csv_bytes

TABULAR = sorted(set(TABLES) - {"collect", "checkin"})  # these change what a second call would find
MORE = {
    "audit": ["audit", "--list", "lapse"],
    "checkin": ["checkin"],
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


ELSEWHERE = {
    "backup": "a drill says what its audit found, and that is no table",
    "new": "what it tabulates is the tool list, which sheet --csv writes once the job is there",
}
"""Verbs that print a table and have no ``--csv``, and why."""


def printers(project: Path) -> set[str]:
    """Modules of reports that lay out a table, themselves or by another one of them."""
    uses = {}
    for path in (project / "tracker/reports").glob("*.py"):
        names = {n for node in ast.walk(ast.parse(path.read_text("utf-8"))) for n in imported(node)}
        uses[f"tracker.reports.{path.stem}"] = names
    found = {module for module, names in uses.items() if "tracker.reports.table.print_table" in names}
    while True:
        more = {module for module, names in uses.items() if {n.rpartition(".")[0] for n in names} & found}
        text = {
            module
            for module in more
            if any(word in name for name in uses[module] for word in ("print_", "_text"))
        }
        if text <= found:
            return found
        found |= text


def imported(node: ast.AST) -> set[str]:
    if isinstance(node, ast.ImportFrom) and node.module:
        return {f"{node.module}.{alias.name}" for alias in node.names}
    return set()


def test_every_verb_that_prints_a_table_has_it_as_csv_too(project):
    tables = printers(project)
    assert {"tracker.reports.status", "tracker.reports.where_from", "tracker.reports.export"} <= tables
    lacking, counted = [], 0
    for verb in VERBS:
        tree = ast.parse((project / f"tracker/cli/{verb.module}.py").read_text("utf-8"))
        shown = {
            name.rpartition(".")[0] for node in ast.walk(tree) for name in imported(node) if "print_" in name
        }
        if shown & tables and verb.name not in ELSEWHERE:
            counted += 1
            lacking += [verb.name] if verb.name not in TABLES else []
    assert lacking == []
    assert counted >= 11
    assert set(ELSEWHERE).isdisjoint(TABLES)


def test_every_table_is_an_option_of_its_verb(capsys):
    for verb in VERBS:
        with pytest.MonkeyPatch.context() as world:
            world.setenv("COLUMNS", "100")
            assert main([verb.name, "--help"]) == 0
        assert ("--csv" in capsys.readouterr().out) == (verb.name in TABLES), verb.name


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
