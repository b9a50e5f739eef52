"""``new`` in a real folder: a draft that can be checked in, and nothing written over."""

import errno
from pathlib import Path

import pytest

from tests.fakes.shop_folder import CALLED, JOB_PATH, MAIN, PROGRAM, SUB, ShopFolder
from tracker.store.drawer import WorkDrawer

SECOND = MAIN.replace("O1001 (PLATE)", "O1003 (PLATE BACK)").replace("N90 M98 P1002\n", "")
LIST = "Tool No,Description,Diameter,Stick-out,H\nT4,5/16 DRILL,0.3125,2.5,4\n"


@pytest.fixture
def whole(tmp_path, capsys, monkeypatch) -> ShopFolder:
    return ShopFolder(tmp_path / "shop", capsys, monkeypatch).brought_by(_made)


def _made(found: ShopFolder) -> None:
    found.at("2026-02-02T09:00:00Z")
    found.begin()


def files(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and ".git" not in path.parts
    }


def test_programs_of_the_repository_stay_where_they_are(whole):
    whole.put("old ones/O1003.nc", SECOND)
    before = files(whole.folder)
    said = whole.json("new", "4480", "old ones/O1003.nc", "--machine", "MILL2")
    after = files(whole.folder)
    assert set(after) - set(before) == {"jobs/4480/job.toml"}
    assert {path: after[path] for path in before} == before
    (operation,) = said["operations"]
    assert (operation["operation"], operation["program"]) == ("op10", "../../old ones/O1003.nc")
    assert (operation["machines"], operation["units"], operation["offsets"]) == (["MILL2"], "inch", ["G54"])
    assert [(tool["number"], tool["h"]) for tool in operation["tools"]] == [(4, [4])]
    whole.run("checkin", "4480", "-m", "first issue", "--by", "np")
    (row,) = [row for row in whole.rows() if row["job"] == "4480"]
    assert (row["revision"], row["machine"], row["standing"]) == ("r1", "MILL2", "unproven")


def test_what_the_sheet_does_not_say_is_not_computed(whole):
    whole.put("old/O1003.nc", SECOND)
    whole.run("new", "4480", "old/O1003.nc", "--machine", "MILL2")
    said = whole.json("verify", "4480", "--machine", "MILL2")
    assert not [one for one in said["findings"] if one["severity"] == "refuse"]
    assert any("stick-out" in str(one) or "stick_out" in str(one) for one in said["not_computed"])


def test_programs_from_elsewhere_are_copied_to_the_byte_with_what_they_call(whole, tmp_path):
    away = tmp_path / "usb stick"
    away.mkdir()
    main, sub = MAIN.replace("O1001", "O1005").replace("P1002", "P1006"), SUB.replace("O1002", "O1006")
    (away / "O1005.NC").write_bytes(main.replace("\n", "\r\n").encode())
    (away / "O1006.NC").write_bytes(sub.encode())
    said = whole.json("new", "4481", str(away / "O1005.NC"), str(away / "O1006.NC"))
    folder = whole.folder / "jobs/4481"
    assert said["written"] == ["jobs/4481/op10/O1005.NC", "jobs/4481/op10/O1006.NC", "jobs/4481/job.toml"]
    for name in ("O1005.NC", "O1006.NC"):
        assert (folder / "op10" / name).read_bytes() == (away / name).read_bytes()
    (operation,) = said["operations"]
    assert not [
        note for note in operation["notes"] if "1006" in note
    ]  # what is called is there, and followed


def test_each_main_program_is_an_operation(whole):
    whole.put("old/O1003.nc", SECOND)
    whole.put("old/O1001.nc", MAIN)
    said = whole.json("new", "4482", "old/O1001.nc", "old/O1003.nc")
    assert [one["operation"] for one in said["operations"]] == ["op10", "op20"]
    whole.run("checkin", "4482/op10", "4482/op20", "-m", "first issue", "--by", "np")


def test_an_operation_is_added_and_nothing_above_it_changes(whole):
    whole.put("jobs/4471/op20/O1003.nc", SECOND)
    before = (whole.folder / JOB_PATH).read_bytes()
    whole.put("tools.csv", LIST)
    out = whole.run("new", "4471/op 20", "jobs/4471/op20/O1003.nc", "--tools", "tools.csv")
    after = (whole.folder / JOB_PATH).read_bytes()
    assert "added to  jobs/4471/job.toml" in out
    assert after.startswith(before)
    assert b'program = "op20/O1003.nc"' in after[len(before) :]
    whole.run("checkin", "4471/op20", "-m", "the back", "--by", "np")
    sheet = whole.json("sheet", "4471/op20", "--machine", "MILL2")
    assert [(tool["tool"], tool["diameter"], tool["stick_out"]) for tool in sheet["tools"]] == [
        (4, 0.3125, 2.5)
    ]


def test_the_draft_is_found_by_a_person_who_reads_it(whole):
    whole.put("old/O1003.nc", SECOND)
    out = whole.run("new", "4480", "old/O1003.nc")
    text = (whole.folder / "jobs/4480/job.toml").read_text(encoding="utf-8")
    asked = [
        line
        for line in text.splitlines()
        if line.startswith("# ") and "= " in line and "?" in line.split("#")[1]
    ]
    assert f"{len(asked)} lines with ? " in out
    assert '# name = "?"' in text
    assert "the head says: PLATE BACK" in text
    assert "proveout checkin 4480/op10" in out


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        (["4471", PROGRAM], 1, "job-exists"),
        (["4471/op10", PROGRAM], 1, "operation-exists"),
        (["4480/op10", PROGRAM, "old/O1003.nc"], 2, "several-mains"),
        (["4480@r1", PROGRAM], 2, "bad-name"),
        (["CON", PROGRAM], 2, "bad-name"),
        (["4480/op~1", PROGRAM], 2, "bad-name"),
        (["4480", PROGRAM, "--machine", "MILL9"], 2, "unknown-machine"),
        (["4480", PROGRAM, "--tools", "none.csv"], 2, "missing-file"),
        (["4480", PROGRAM, "--tools", "unclear.csv"], 2, "not-a-terminal"),
        (["4480", PROGRAM, "--tools", "broken.csv"], 2, "csv-value"),
        (["4480", PROGRAM, "--column", "D=d"], 2, "wrong-call"),
        (["4480", PROGRAM, "--tools", "unclear.csv", "--column", "D"], 2, "wrong-call"),
        (["4480", "old/words.nc"], 1, "no-code"),
        (["4480", "old/O1003.nc", "--copy"], 2, "file-exists"),
        (["4480"], 2, "wrong-call"),
    ],
)
def test_what_is_refused_writes_nothing(whole, words, status, name):
    whole.put("old/O1003.nc", SECOND)
    whole.put("old/words.nc", "%\n(NOTHING)\n%\n")
    whole.put("unclear.csv", "T,D\n4,4\n")
    whole.put("broken.csv", "T,Dia\n4,wide\n")
    whole.put("jobs/4480/op10/O1003.nc", "%\nO1003\nG1 X1.\nM30\n%\n")
    before = files(whole.folder)
    error = whole.json("new", *words, status=status)["error"]
    assert error["name"] == name
    assert error["fix"]
    assert files(whole.folder) == before


def test_a_job_that_writes_no_operation_cannot_be_added_to(whole):
    whole.put("jobs/4483/job.toml", 'format = 1\n[job]\nnumber = "4483"\n')
    whole.put("jobs/4483/op10/O1003.nc", SECOND)
    before = files(whole.folder)
    assert whole.json("new", "4483/op20", PROGRAM, status=2)["error"]["name"] == "job-form"
    assert files(whole.folder) == before


def test_a_full_disk_leaves_nothing_half_there(whole, tmp_path, monkeypatch):
    away = tmp_path / "usb"
    away.mkdir()
    (away / "O1005.NC").write_bytes(MAIN.replace("O1001", "O1005").encode())
    before = files(whole.folder)
    made = []

    def full(number):
        made.append(number)
        if len(made) == 2:  # the program is there by then, the job.toml is being written
            raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as now:
        now.setattr("tracker.store.drawer.os.fsync", full)
        error = whole.json("new", "4484", str(away / "O1005.NC"), status=4)["error"]
    assert error["name"] == "not-written"
    assert files(whole.folder) == before


def test_an_edit_in_between_is_not_lost(whole, monkeypatch):
    whole.put("jobs/4471/op20/O1003.nc", SECOND)
    grow = WorkDrawer.grow

    def edited(self, path, before, more):
        whole.put(JOB_PATH, before + b"# edited meanwhile\n")
        grow(self, path, before, more)

    monkeypatch.setattr(WorkDrawer, "grow", edited)
    assert whole.json("new", "4471/op20", "jobs/4471/op20/O1003.nc", status=1)["error"]["name"] == "moved"
    assert (whole.folder / JOB_PATH).read_bytes().endswith(b"# edited meanwhile\n")


def test_a_link_that_leads_away_counts_as_from_elsewhere(whole, tmp_path):
    away = tmp_path / "away.nc"
    away.write_bytes(SECOND.encode())
    (whole.folder / "link.nc").symlink_to(away)
    said = whole.json("new", "4485", "link.nc")
    assert said["written"] == ["jobs/4485/op10/link.nc", "jobs/4485/job.toml"]
    assert (whole.folder / "jobs/4485/op10/link.nc").read_bytes() == SECOND.encode()
    assert not (whole.folder / "jobs/4485/op10/link.nc").is_symlink()


def test_called_programs_of_the_shop_are_followed(whole):
    whole.put("old/O1009.nc", MAIN.replace("O1001", "O1009"))
    said = whole.json("new", "4486", "old/O1009.nc")
    assert CALLED.startswith("common/")
    assert not [note for note in said["operations"][0]["notes"] if "1002" in note]
