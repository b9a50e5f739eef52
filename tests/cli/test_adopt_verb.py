"""``adopt`` in real folders: a plan that moves no byte, and one commit that takes in what it says yes to."""

import csv
import io
import os
import shutil

import pytest

from tests.cli.test_new_verb import files
from tests.fakes.shop_folder import MAIN, SUB, ShopFolder
from tests.fakes.shop_folder import SHOP as ONE_MILL
from tests.services.post_texts import TEXTS
from tracker.services import adopt_apply

OTHER = MAIN.replace("O1001 (PLATE)", "O2001 (COVER)").replace("N90 M98 P1002\n", "")
SHOP = ONE_MILL + '[[machines]]\nid = "LATHE1"\ntype = "lathe"\nunits = "mm"\n'


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    found = ShopFolder(tmp_path / "a shop", capsys, monkeypatch)
    found.folder.mkdir()
    found.at("2026-02-02T09:00:00Z")
    found.put("shop.toml", SHOP)
    found.run("init", ".", "--name", "Test shop")
    found.put("office/bracket/O1001.NC", MAIN)
    found.put("office/bracket/O1002.NC", SUB)
    found.put("office/cover/op 20/O2001.NC", OTHER)
    found.put(
        "office/MILL2/loose/O3001.NC",
        OTHER.replace("O2001", "O3001").replace("(COVER)", "(PROOFED KP 3-11-24)"),
    )
    found.put("office/readme.txt", "hello\n")
    found.put("office/drawing.pdf", b"%PDF-1.4\n")
    found.put("office/empty.nc", b"")
    return found


def plan(shop: ShopFolder, name: str = "plan.csv") -> list[dict[str, str]]:
    """The rows as Python's csv module reads them, the way a spreadsheet would."""
    text = (shop.folder / name).read_bytes().decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def saved(shop: ShopFolder, rows: list[dict[str, str]], **dialect: str) -> None:
    """The plan as a spreadsheet saves it: formulas by their values, perhaps with semicolons."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, rows[0].keys(), **dialect)
    writer.writeheader()
    writer.writerows(
        [{key: cell.removeprefix('="').removesuffix('"') for key, cell in row.items()} for row in rows]
    )
    shop.put("plan.csv", ("\ufeff" + out.getvalue()).encode())


def by_file(rows: list[dict[str, str]]) -> dict[str, dict[str, str]]:
    return {row["file"]: row for row in rows}


def test_the_plan_says_what_lies_there_and_nothing_is_moved(shop):
    before = files(shop.folder)
    out = shop.run("adopt", "office", "--plan", "plan.csv")
    after = files(shop.folder)
    assert set(after) - set(before) == {"plan.csv"}
    assert {path: after[path] for path in before} == before
    rows = by_file(plan(shop))
    said = {name: (row["take"], row["job"], row["operation"], row["machine"]) for name, row in rows.items()}
    assert said == {
        "office/bracket/O1001.NC": ("yes", "bracket", "op10", ""),
        "office/bracket/O1002.NC": ("called", "bracket", "", ""),
        "office/cover/op 20/O2001.NC": ("yes", "cover", "op20", ""),
        "office/MILL2/loose/O3001.NC": ("yes", "loose", "op10", "MILL2"),
        "office/readme.txt": ("?", "readme", "op10", ""),
        "office/drawing.pdf": ("no", "", "", ""),
        "office/empty.nc": ("no", "", "", ""),
    }
    assert rows["office/MILL2/loose/O3001.NC"]["proof_words"] == "PROOFED KP 3-11-24"
    assert "That is a hint, and no proof" in " ".join(out.split())
    assert rows["office/bracket/O1001.NC"]["number"] == "O1001"


def test_what_the_plan_says_yes_to_is_r1_in_one_commit(shop):
    before = files(shop.folder)
    shop.run("adopt", "office", "--plan", "plan.csv")
    commits = shop.commits()
    said = shop.json("adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over")
    assert said["taken"] == ["loose/op10", "bracket/op10", "cover/op20"]
    assert said["open"] == 1
    assert shop.commits() == commits + 1
    after = files(shop.folder)
    assert {path: after[path] for path in before} == before
    assert {path for path in set(after) - set(before) if "/records/" not in path} == {
        "plan.csv",
        *(f"jobs/{job}/job.toml" for job in ("bracket", "cover", "loose")),
    }
    assert {(row["job"], row["operation"], row["revision"], row["standing"]) for row in shop.rows()} == {
        (job, operation, "r1", "unproven")
        for job, operation in (("bracket", "op10"), ("cover", "op20"), ("loose", "op10"))
    }
    assert shop.json("show", "bracket/op10")["files"][1]["path"] == "office/bracket/O1002.NC"
    assert shop.run("audit")


def test_running_it_again_does_nothing_more(shop):
    shop.run("adopt", "office", "--plan", "plan.csv")
    shop.run("adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over")
    before, commits = files(shop.folder), shop.commits()
    said = shop.json("adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over")
    assert (said["taken"], len(said["already"]), said["commit"]) == ([], 3, None)
    assert (files(shop.folder), shop.commits()) == (before, commits)
    again = shop.json("adopt", "office")
    assert {row["take"] for row in again["rows"] if row["file"].endswith(".NC")} == {"no"}
    assert any("belongs to bracket/op10 already" in row["remarks"] for row in again["rows"])


@pytest.mark.parametrize("moment", ["put", "check_in"])
def test_a_kill_in_between_needs_no_cleaning(shop, monkeypatch, moment):
    shop.run("adopt", "office", "--plan", "plan.csv")

    def killed(*_, **__):
        raise MemoryError

    with monkeypatch.context() as now:
        if moment == "put":
            now.setattr("tracker.store.drawer.WorkDrawer.put", killed)
        else:
            now.setattr(adopt_apply, "check_in", killed)
        got, _, _ = shop.call("adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over")
    assert got not in (0, 1, 2)
    said = shop.json("adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over")
    assert len(said["taken"]) == 3


def test_office_and_control_differ_in_the_feed_of_a_tool(shop):
    shutil.copytree(shop.folder / "office", shop.folder / "control")
    shop.put("control/bracket/O1001.NC", MAIN.replace("F15.", "F12."))
    shop.put(
        "control/cover/op 20/O2001.NC",
        "".join(
            line.partition(" ")[2] if line[:1] == "N" else line for line in OTHER.splitlines(keepends=True)
        ),
    )
    shop.put("control/only here/O9001.NC", OTHER.replace("O2001", "O9001"))
    out = shop.run("adopt", "office", "--also", "control", "--plan", "plan.csv")
    rows = by_file(plan(shop))
    assert rows["control/bracket/O1001.NC"]["take"] == "?"
    assert (
        rows["control/bracket/O1001.NC"]["remarks"] == "differs from office/bracket/O1001.NC in: feed of T4"
    )
    assert "differs from office/bracket/O1001.NC in: feed of T4" in " ".join(out.split())
    assert rows["control/cover/op 20/O2001.NC"]["take"] == "no"
    assert "the same code as office/cover/op 20/O2001.NC" in rows["control/cover/op 20/O2001.NC"]["remarks"]
    assert rows["control/bracket/O1002.NC"]["remarks"].startswith("the same bytes as")
    assert rows["control/only here/O9001.NC"]["take"] == "yes"


def test_a_renumbered_copy_is_not_the_same_where_a_program_goes_to_lines_of_another(shop):
    """A main program that names a line of a called one makes every N of that one code."""
    main = MAIN.replace("M98 P1002", "M98 P1002 Q30")
    again = SUB.replace("N30 M99", "N40 M99").replace("N20 G90", "N30 G90")
    for folder, sub in (("office", SUB), ("control", again)):
        shop.put(f"{folder}/bracket/O1001.NC", main)
        shop.put(f"{folder}/bracket/O1002.NC", sub)
    row = by_file(shop.json("adopt", "office", "--also", "control")["rows"])["control/bracket/O1002.NC"]
    assert row["take"] == "?"
    assert "differs from office/bracket/O1002.NC" in row["remarks"]
    shop.put("office/bracket/O1001.NC", MAIN)
    shop.put("control/bracket/O1001.NC", MAIN)
    row = by_file(shop.json("adopt", "office", "--also", "control")["rows"])["control/bracket/O1002.NC"]
    assert "the same code as office/bracket/O1002.NC" in row["remarks"]


def test_a_plan_saved_by_a_spreadsheet_with_semicolons(shop):
    shop.run("adopt", "office", "--plan", "plan.csv")
    rows = plan(shop)
    for row in rows:
        if row["file"].endswith("O2001.NC"):
            row.update(take="N")
        elif row["file"].endswith("O3001.NC"):
            row.update(job="0042", take="Yes", to="jobs/0042/op10")
    saved(shop, rows, delimiter=";")
    said = shop.json("adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over")
    assert said["taken"] == ["0042/op10", "bracket/op10"]
    kept = (shop.folder / "jobs/0042/op10/O3001.NC").read_bytes()
    assert kept == (shop.folder / "office/MILL2/loose/O3001.NC").read_bytes()


def test_files_from_another_disk_are_copied_to_the_byte(shop, tmp_path):
    away = tmp_path / "old share"
    shutil.move(shop.folder / "office", away)
    (away / "bracket/O1001.NC").write_bytes(MAIN.replace("\n", "\r\n").encode() + b"\x1a")
    before = files(away)
    shop.run("adopt", str(away), "--plan", "plan.csv")
    said = shop.json("adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over")
    assert len(said["taken"]) == 3
    assert files(away) == before
    assert (shop.folder / "jobs/bracket/op10/O1001.NC").read_bytes() == before["bracket/O1001.NC"]
    assert (shop.folder / "common/O1002.NC").read_bytes() == before["bracket/O1002.NC"]
    assert [file["path"] for file in shop.json("show", "bracket/op10")["files"]] == [
        "jobs/bracket/op10/O1001.NC",
        "common/O1002.NC",
    ]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"job": "a/b"}, "'a/b' cannot be a job"),
        ({"operation": ""}, "'' cannot be an operation"),
        ({"machine": "MILL9"}, "no machine 'MILL9'"),
        ({"to": "../away"}, "does not lie in this repository"),
        ({"file": "office/none.NC"}, "There is no such file"),
        ({"job": "bracket", "operation": "op10"}, "bracket/op10 stands in line"),
        ({"sha256": "0" * 64}, "was changed since the plan was made"),
    ],
)
def test_what_is_wrong_with_a_row_is_told_with_its_line_and_nothing_is_written(shop, change, words):
    shop.run("adopt", "office", "--plan", "plan.csv")
    rows = plan(shop)
    at = next(at for at, row in enumerate(rows) if row["file"].endswith("O2001.NC"))
    rows[at].update(change)
    saved(shop, rows)
    before = files(shop.folder)
    error = shop.json("adopt", "--apply", "plan.csv", "--by", "np", "-m", "x", status=2)["error"]
    assert (error["name"], error["where"]) == ("plan-wrong", f"plan.csv:{at + 2}")
    assert words in error["message"]
    assert files(shop.folder) == before


def test_everything_wrong_is_told_at_once(shop):
    shop.run("adopt", "office", "--plan", "plan.csv")
    rows = plan(shop)
    for row in rows:
        row["machine"] = "MILL9"
    saved(shop, rows)
    error = shop.json("adopt", "--apply", "plan.csv", "--by", "np", "-m", "x", status=2)["error"]
    assert error["message"] == "4 things in the plan are wrong"
    assert len(error["reasons"]) == 4


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        ([], 2, "wrong-call"),
        (["office", "--apply", "plan.csv"], 2, "wrong-call"),
        (["--apply", "plan.csv", "--also", "x"], 2, "wrong-call"),
        (["nowhere"], 2, "no-such-folder"),
        (["office/readme.txt"], 2, "no-such-folder"),
        (["office", "--plan", "plan.csv"], 2, "file-exists"),
        (["--apply", "none.csv"], 2, "missing-file"),
        (["--apply", "odd.csv"], 2, "csv-heading"),
        (["--apply", "maybe.csv"], 2, "csv-value"),
        (["--apply", "nameless.csv"], 2, "csv-value"),
        (["--apply", "plan.csv", "-m", "x", "--by", "ss"], 1, "wrong-role"),
        (["--apply", "plan.csv", "-m", "x", "--by", "zz"], 2, "unknown-person"),
        (["--apply", "plan.csv", "--by", "np"], 2, "no-reason"),
    ],
)
def test_wrong_calls(shop, words, status, name):
    shop.run("adopt", "office", "--plan", "plan.csv")
    shop.put("odd.csv", "a,b\n1,2\n")
    shop.put("maybe.csv", "take,file\nmaybe,office/bracket/O1001.NC\n")
    shop.put("nameless.csv", "take,file\nyes,\n")
    before = files(shop.folder)
    error = shop.json("adopt", *words, status=status)["error"]
    assert (error["name"], bool(error["fix"])) == (name, True)
    assert files(shop.folder) == before


def test_a_job_that_is_there_is_not_written_over(shop):
    shop.put(
        "jobs/bracket/job.toml",
        'format = 1\n[job]\nnumber = "bracket"\n[[operations]]\nid = "op90"\nprogram = "../../office/cover/op 20/O2001.NC"\n',
    )
    shop.run("adopt", "office", "--plan", "plan.csv")
    before = files(shop.folder)
    error = shop.json("adopt", "--apply", "plan.csv", "--by", "np", "-m", "x", status=2)["error"]
    assert error["name"] == "plan-wrong"
    assert "proveout new bracket/op10 office/bracket/O1001.NC" in error["message"]
    assert files(shop.folder) == before


def test_texts_of_every_kind_have_a_row_and_the_readable_ones_are_taken_in(shop):
    for one in TEXTS:
        shop.put(f"posts/{one.name}", one.text)
    shop.run("adopt", "posts", "--plan", "posts.csv")
    rows = by_file(plan(shop, "posts.csv"))
    assert set(rows) == {f"posts/{one.name}" for one in TEXTS}
    for one in TEXTS:
        row = rows[f"posts/{one.name}"]
        if not one.code:
            assert row["take"] == "no"
        if one.dialect == "word-address":
            assert row["number"].split() == [f"O{number:04}" for number in one.numbers]
    said = shop.json("adopt", "--apply", "posts.csv", "--by", "np", "-m", "taken over")
    wanted = {row["job"] + "/" + row["operation"] for row in rows.values() if row["take"] == "yes"}
    assert set(said["taken"]) == wanted
    assert len(wanted) >= 15


def test_names_that_windows_refuses_are_said(shop):
    if os.name == "nt":
        pytest.skip("no file can have such a name here")
    shop.put("odd/NUL.nc", MAIN)
    shop.put("odd/a:b.nc", OTHER)
    rows = by_file(shop.json("adopt", "odd")["rows"])
    assert "Windows keeps the name NUL.nc for a device" in rows["odd/NUL.nc"]["remarks"]
    assert rows["odd/NUL.nc"]["job"] == "J-NUL"
    assert "refuse :" in rows["odd/a:b.nc"]["remarks"]


def _a_repository_of_its_own(shop):
    shop.put("nested/O7001.NC", OTHER.replace("O2001", "O7001"))
    shop.git("init", "-q", str(shop.folder / "nested"))
    shop.git("-C", str(shop.folder / "nested"), "add", "-A")
    shop.git("-C", str(shop.folder / "nested"), "commit", "-q", "-m", "years before")


def _a_folder_of_gitignore(shop):
    shop.put("nested/O7001.NC", OTHER.replace("O2001", "O7001"))
    shop.put(".gitignore", "nested/\n")


@pytest.mark.parametrize("made", [_a_repository_of_its_own, _a_folder_of_gitignore])
def test_what_git_leaves_out_where_it_lies_is_copied(shop, tmp_path, made):
    made(shop)
    plan = tmp_path / "plan.csv"
    (row,) = shop.json("adopt", "nested", "--plan", str(plan))["rows"]
    assert (row["take"], row["file"]) == ("yes", "nested/O7001.NC")
    assert "git leaves it out where it lies" in row["remarks"]
    shop.json("adopt", "--apply", str(plan), "-m", "taken over", "--by", "np")
    assert shop.json("show", "O7001")["files"][0]["path"] == "jobs/O7001/op10/O7001.NC"
    left = (shop.folder / "nested/O7001.NC").read_bytes()
    assert (shop.folder / "jobs/O7001/op10/O7001.NC").read_bytes() == left
    shop.json("new", "7002", "nested/O7001.NC", "--machine", "MILL2")
    assert (shop.folder / "jobs/7002/op10/O7001.NC").read_bytes() == left


def test_a_program_gitignore_names_by_its_ending_is_said_to_be_left_out(shop):
    shop.put(".gitignore", "*.NC\n")
    shop.put("elsewhere/O7001.NC", OTHER.replace("O2001", "O7001"))
    shop.json("new", "7001", "elsewhere/O7001.NC", "--machine", "MILL2")
    error = shop.json("checkin", "7001", "-m", "first", "--by", "np", status=2)["error"]
    assert (error["name"], "and git leaves that file out" in error["message"]) == ("missing-program", True)
    command = error["fix"].partition(" says")[0].split()
    assert ".gitignore" in shop.git(*command[1:3], command[3].strip('"'))


def test_links_and_unreadable_files_are_passed_over_with_a_line(shop, tmp_path, monkeypatch):
    (shop.folder / "office/link.nc").symlink_to(tmp_path / "elsewhere.nc")
    from tracker.errors import CouldNot
    from tracker.store.old_files import OldFiles

    read = OldFiles.read

    def denied(self, path):
        if path.endswith("O2001.NC"):
            raise CouldNot("not-readable", "the file cannot be read: Permission denied", where=path, fix="x")
        return read(self, path)

    monkeypatch.setattr(OldFiles, "read", denied)
    rows = by_file(shop.json("adopt", "office")["rows"])
    assert "office/link.nc" not in rows
    row = rows["office/cover/op 20/O2001.NC"]
    assert (row["take"], row["remarks"]) == ("no", "unreadable: the file cannot be read: Permission denied")


def test_many_mains_in_one_folder_are_jobs_of_their_own(shop):
    for number in range(1, 9):
        shop.put(f"flat/O{number:04}.NC", OTHER.replace("O2001", f"O{number:04}"))
    rows = shop.json("adopt", "flat")["rows"]
    assert [(row["job"], row["operation"]) for row in rows] == [(f"O{n:04}", "op10") for n in range(1, 9)]
