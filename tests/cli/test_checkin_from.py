"""``checkin JOB/OP --from rN``: what was proven comes back as the next revision, and is proven at once."""

import pytest

from tests.fakes.shop_folder import JOB, JOB_PATH, MAIN, PROGRAM, SHOP, ShopFolder


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    return ShopFolder(tmp_path / "shop", capsys, monkeypatch).brought_by(_made)


def _made(found: ShopFolder) -> None:
    found.at("2026-02-02T09:00:00Z")
    found.begin(SHOP)
    found.prove()
    found.at("2026-02-03T09:00:00Z")
    found.put(PROGRAM, MAIN.replace("F15.", "F25."))
    found.run("checkin", "4471", "-m", "faster", "--by", "np")


def test_a_proven_text_is_proven_again_at_once(shop):
    assert [row["standing"] for row in shop.rows()] == ["unproven"]
    said = shop.json("checkin", "4471", "--from", "r1", "--by", "np", "-m", "too fast, back to r1")
    assert [one["revision"] for one in said["revisions"]] == ["r3"]
    (row,) = shop.rows()
    assert (row["revision"], row["standing"]) == ("r3", "proven")
    assert (shop.folder / PROGRAM).read_bytes() == MAIN.encode()
    assert shop.json("compare", "4471@r1", "4471@r3")["same_code"] is True
    assert shop.git("status", "--short") == ""


def test_the_sheet_stays_as_it_is_now(shop):
    shop.put(JOB_PATH, JOB.replace("2.5", "2.75"))
    shop.run("checkin", "4471", "-m", "longer", "--by", "np")
    shop.run("checkin", "4471", "--from", "r1", "--by", "np", "-m", "back")
    (row,) = shop.rows()
    assert (row["revision"], row["standing"]) == ("r4", "unproven")
    assert (shop.folder / JOB_PATH).read_text() == JOB.replace("2.5", "2.75")


def test_what_is_there_already_has_nothing_to_do(shop):
    commits = shop.commits()
    assert shop.json("checkin", "4471", "--from", "r2", "--by", "np", "-m", "same")["revisions"] == []
    assert shop.commits() == commits


def test_a_dry_run_writes_nothing(shop):
    commits = shop.commits()
    assert (
        shop.json("checkin", "4471", "--from", "r1", "--by", "np", "-m", "x", "--dry-run")["dry_run"] is True
    )
    assert shop.commits() == commits
    assert b"F25." in (shop.folder / PROGRAM).read_bytes()


def test_edits_in_the_working_folder_are_not_gone_over(shop):
    shop.put(PROGRAM, MAIN.replace("F15.", "F99."))
    error = shop.json("checkin", "4471", "--from", "r1", "--by", "np", "-m", "x", status=1)["error"]
    assert error["name"] == "uncommitted-edits"
    assert b"F99." in (shop.folder / PROGRAM).read_bytes()


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        (["--from", "r1"], 2, "wrong-call"),
        (["4471", "4471/op10", "--from", "r1"], 2, "wrong-call"),
        (["--all", "--from", "r1"], 2, "wrong-call"),
        (["4471", "--from", "r9"], 2, "unknown-revision"),
        (["4471", "--from", "first"], 2, "bad-name"),
        (["4479", "--from", "r1"], 2, "unknown-job"),
        (["4471", "--from", "r1", "--by", "ss"], 1, "wrong-role"),
    ],
)
def test_wrong_calls(shop, words, status, name):
    commits = shop.commits()
    by = () if "--by" in words else ("--by", "np")
    assert shop.json("checkin", *words, *by, "-m", "x", status=status)["error"]["name"] == name
    assert shop.commits() == commits


def test_a_program_that_was_renamed(shop):
    shop.put(JOB_PATH, JOB.replace("op10/O1001.nc", "op10/plate.nc"))
    shop.put("jobs/4471/op10/plate.nc", MAIN)
    (shop.folder / PROGRAM).unlink()
    shop.run("checkin", "4471", "-m", "renamed", "--by", "np")
    assert (
        shop.json("checkin", "4471", "--from", "r1", "--by", "np", "-m", "x", status=2)["error"]["name"]
        == "program-moved"
    )
