"""One job from an empty folder to the stick, through the real command line on real git."""

import pytest

from tests.fakes.shop_folder import JOB, JOB_PATH, MAIN, PROGRAM, SHOP, SUB, ShopFolder


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    folder = tmp_path / "the shop"
    folder.mkdir()
    made = ShopFolder(folder, capsys, monkeypatch)
    made.at("2026-02-02T09:00:00Z")
    return made


def test_from_an_empty_folder_to_the_stick(shop, tmp_path):
    shop.put("old/O77.nc", "O77\r\nM30\r\n")
    made = shop.json("init", ".", "--name", "Test shop")
    assert made["schema"] == "proveout/init/1"
    assert (shop.folder / "old/O77.nc").read_bytes() == b"O77\r\nM30\r\n"
    assert shop.git("ls-files").splitlines() == [".gitattributes", "jobs/job-example.toml", "shop.toml"]

    shop.put("shop.toml", SHOP)
    assert shop.json("checkin", "shop.toml", "-m", "people and machines", "--by", "dg")["written"]
    assert shop.git("status", "--porcelain") == "?? old/"

    shop.put(JOB_PATH, JOB)
    shop.put(PROGRAM, MAIN)
    shop.put("common/O1002.nc", SUB)
    listed = shop.json("checkin")
    assert [(c["job"], c["operation"], c["state"]) for c in listed["changed"]] == [("4471", "op10", "new")]
    first = shop.json("checkin", "4471", "-m", "first issue, drawing C", "--by", "np")
    (revision,) = first["revisions"]
    assert (revision["job"], revision["operation"], revision["revision"]) == ("4471", "op10", "r1")
    assert shop.git("log", "-1", "--format=%an <%ae>") == "Nora Pencil <np@shop.example>"
    (row,) = shop.rows()
    assert (row["revision"], row["machine"], row["standing"]) == ("r1", "MILL2", "unproven")
    assert (row["released"], row["may_run"]) == (None, False)

    shop.at("2026-02-03T10:00:00Z")
    shop.run("release", "4471", "--by", "dg", "--yes", status=1)
    shop.run(
        *(
            "prove",
            "4471/op10@r1",
            "--machine",
            "MILL2",
            "--by",
            "ss",
            "--accept",
            "--first-piece",
            "report 2231",
        ),
        *("--answers", shop.answers(), "--yes"),
    )
    (row,) = shop.rows()
    assert (row["standing"], row["released"], row["may_run"]) == ("proven", None, False)

    shop.at("2026-02-03T11:00:00Z")
    shop.run("release", "4471", "--by", "dg", "--yes")
    assert shop.git("tag", "--list") == "release/4471/1"
    (row,) = shop.rows()
    assert (row["standing"], row["released"], row["may_run"]) == ("proven", 1, True)
    (may,) = shop.rows("--may-run", "--machine", "MILL2")
    assert may["revision"] == "r1"

    stick = tmp_path / "BLUE-1"
    stick.mkdir()
    shop.run("export", "--machine", "MILL2", "--to", str(stick), "--by", "ss", "--yes")
    written = (stick / "MILL2" / "O1001.NC").read_bytes()
    assert f"(ID {revision['id']} 4471 OP10 R1 REL 1 MILL2)".encode() in written
    assert (stick / "MILL2" / "O1002.NC").exists()

    events = [event["event"] for event in shop.json("history", "4471")["events"]]
    assert events == ["revision", "proof", "release", "export"]


def test_an_edit_is_unproven_until_it_is_proved(shop):
    ready(shop)
    shop.at("2026-02-05T09:00:00Z")
    shop.put(PROGRAM, MAIN.replace("Z-1.16", "Z-1.2"))
    status = shop.json("status")
    assert status["edited"] == [PROGRAM]
    assert status["operations"][0]["standing"] == "proven"
    made = shop.json("checkin", "4471/op10", "-m", "0.04 deeper", "--by", "np")["revisions"][0]
    assert made["revision"] == "r2"
    (origin,) = made["origins"]
    assert (origin["kinds"], origin["sections"]) == (["motion"], ["4"])
    (row,) = shop.rows()
    assert (row["revision"], row["standing"], row["may_run"]) == ("r2", "unproven", False)
    compared = shop.json("compare", "4471/op10@r1", "4471/op10@r2", "--exit-code", status=1)
    assert list(compared) == ["schema", "same_code", "kinds", "changes", "effect"]
    assert compared["kinds"] == ["motion"]
    assert compared["changes"][0]["tool"] == "4"


def test_wording_carries_by_itself(shop):
    ready(shop)
    shop.put(PROGRAM, MAIN.replace("(PLATE)", "(PIVOT PLATE)").replace("N10 ", "N5 "))
    shop.run("checkin", "4471/op10", "-m", "wording", "--by", "np")
    (row,) = shop.rows()
    assert (row["revision"], row["standing"], row["released"], row["may_run"]) == (
        "r2",
        "carried",
        None,
        False,
    )
    assert shop.rows("--may-run")[0]["revision"] == "r1"


def test_the_writer_does_not_stand_alone(shop):
    shop.put("shop.toml", SHOP.replace('roles = ["programmer"]', 'roles = ["programmer", "setup"]'))
    shop.run("init", ".", "--name", "Test shop")
    shop.fill()
    shop.run("checkin", "4471", "-m", "first issue", "--by", "np")
    shop.prove("np")
    (row,) = shop.rows()
    assert row["standing"] == "unproven"
    assert "second person" in row["reason"]
    shop.run("countersign", "4471/op10@r1", "--machine", "MILL2", "--by", "ss", "-m", "watched it", "--yes")
    assert shop.rows()[0]["standing"] == "proven"


def test_a_program_that_moved_goes_along(shop):
    ready(shop)
    (shop.folder / "common/O1002.nc").unlink()
    shop.put("jobs/4471/sub/O1002.nc", SUB)
    shop.put("other.nc", MAIN)
    shop.git("add", "other.nc")
    made = shop.json("checkin", "4471", "-m", "sub moved to its job", "--by", "np")["revisions"][0]
    assert (made["revision"], made["kinds"]) == ("r2", [])
    assert "common/O1002.nc" not in shop.git("ls-tree", "-r", "--name-only", "HEAD").splitlines()
    assert shop.git("status", "--porcelain") == "A  other.nc"
    assert shop.rows()[0]["standing"] in ("proven", "carried")


def test_two_clones_check_in_at_once(shop, tmp_path, capsys, monkeypatch):
    ready(shop)
    shop.git("clone", "-q", ".", str(tmp_path / "second"))
    second = ShopFolder(tmp_path / "second", capsys, monkeypatch)
    shop.put(PROGRAM, MAIN.replace("Z-1.16", "Z-1.2"))
    shop.run("checkin", "4471", "-m", "deeper", "--by", "np")
    second.put(PROGRAM, MAIN.replace("F15.", "F14."))
    second.run("checkin", "4471", "-m", "slower", "--by", "np")
    shop.git("fetch", "-q", str(second.folder), "main:refs/heads/second")
    shop.git("merge", "-q", "-s", "ours", "--no-edit", "second", "-X", "ours")
    shop.git("checkout", "second", "--", "jobs/4471/records")
    shop.git("commit", "-q", "--amend", "--no-edit")
    both = [row["revision"] for row in shop.rows()]
    assert len(both) == 2
    assert all(name.startswith("r2-") for name in both)
    shop.run("show", "4471/op10@r2", status=2)
    assert shop.json("show", f"4471/op10@{both[0][:7]}")["revision"] == both[0]
    shop.run("release", "4471", "--by", "dg", "--yes", status=1)
    made = shop.json("checkin", "4471", "-m", "brought together", "--by", "np")["revisions"][0]
    assert made["revision"] == "r3"
    assert sorted(origin["revision"][:5] for origin in made["origins"]) == ["r0002", "r0002"]
    assert [row["revision"] for row in shop.rows()] == ["r3"]


def ready(shop: ShopFolder) -> None:
    """A shop whose job is checked in, proved and released."""
    shop.begin()
    shop.prove()
    shop.run("release", "4471", "--by", "dg", "--yes")
