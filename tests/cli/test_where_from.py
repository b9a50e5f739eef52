"""``where`` back from a lot, a serial number, a day, a program, a tool: through the real verb."""

import csv
import io

import pytest

from tests.fakes.shop_folder import ShopFolder
from tracker.reports.csv_rows import csv_bytes

LOT = ("--lot", "2207", "--serials", "A17", "--quantity", "5")


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-02-02T09:00:00Z")
    return ShopFolder(tmp_path / "shop", capsys, monkeypatch).brought_by(_made)


def _made(made: ShopFolder) -> None:
    made.begin()
    made.prove()
    made.run("release", "4471", "--by", "dg", "--yes")
    made.at("2026-02-03T09:00:00Z")
    made.run("ran", "4471/op10", "--machine", "MILL2", "--by", "ss", "--yes", *LOT)


@pytest.mark.parametrize(
    "words",
    [
        "--lot 2207",
        "--serial A17",
        "--on 2026-02-03 --machine MILL2",
        "--lot 2207 --machine MILL2",
        "4471 --lot 2207",
    ],
)
def test_back_to_the_text_of_a_run(shop, words):
    said = shop.json("where", *words.split())
    (run,) = said["runs"]
    assert (run["job"], run["operation"], run["revision"], run["released"]) == ("4471", "op10", "r1", 1)
    assert "4471/op10 r1 on MILL2, 3 Feb 2026, by ss: lot 2207, 5 pieces, serials A17" in shop.run(
        "where", *words.split()
    )


def test_a_lot_nobody_put_down_is_no(shop):
    assert "No run is recorded for lot 9." in shop.run("where", "--lot", "9", status=1)
    assert shop.json("where", "--lot", "9", status=1)["gaps"] == ["no run is recorded for lot 9"]


def test_the_table_of_runs_for_a_spreadsheet(shop):
    data = csv_bytes("where", shop.json("where", "--lot", "2207"))
    (row,) = csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline=""))
    assert (row["lot"], row["revision"], row["released"]) == ("2207", "r1", "1")


def test_who_calls_a_common_program_and_uses_a_tool(shop):
    (use,) = shop.json("where", "--program", "O1002")["uses"]
    assert (use["path"], use["main"], use["proven"], use["same_code"]) == (
        "common/O1002.nc",
        False,
        "r1",
        True,
    )
    assert "tool-not-on-sheets" in shop.run("where", "--tool", "reamer", status=2)
    assert "unknown-program" in shop.run("where", "--program", "O7", status=2)


@pytest.mark.parametrize(
    "words",
    [
        "",
        "4471 --program O1002",
        "--program O1002 --tool X",
        "4471 --machine MILL2",
        "--lot 1 --tool X",
        "--on 2026-02-03",
    ],
)
def test_one_thing_at_a_time(shop, words):
    assert "wrong-call" in shop.run("where", *words.split(), status=2)
