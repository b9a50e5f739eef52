"""Names and places of files: blanks, umlauts, upper and lower case, backslashes, line ends, long names, worktrees."""

import contextlib
import io
import sys
import unicodedata
from pathlib import Path

import pytest

from tests.fakes.shop_folder import JOB, JOB_PATH, MAIN, PROGRAM, SHOP, ShopFolder, git
from tracker.cli.entry import main

TEXT = MAIN.replace("N90 M98 P1002\n", "")
CRLF = TEXT.replace("\n", "\r\n")
DEEPER = ("Z-1.16", "Z-1.2")
NFC, NFD = unicodedata.normalize("NFC", "Größe.nc"), unicodedata.normalize("NFD", "Größe.nc")


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    monkeypatch.chdir(tmp_path)  # some verbs change into the folder of -C
    folder = tmp_path / "Größe 10, Teile & Späne (neu)"
    folder.mkdir()
    made = ShopFolder(folder, capsys, monkeypatch)
    made.at("2026-02-02T09:00:00Z")
    made.put("shop.toml", SHOP)
    made.run("init", ".", "--name", "Test shop")
    return made


def job_with(shop: ShopFolder, program: str) -> None:
    shop.put(JOB_PATH, JOB.replace("op10/O1001.nc", program))


def check_in(shop: ShopFolder, status: int = 0) -> str:
    return shop.run("checkin", "4471", "-m", "first issue", "--by", "np", status=status)


def prove_and_release(shop: ShopFolder) -> None:
    shop.prove()
    shop.run("release", "4471", "--by", "dg", "--yes")


# -- names ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name", ["Großes Teil 10.NC", "a'b & c [1].nc", "Ø8 #2.nc", "-r.nc", "--all.nc", "中村.nc", "UPPER.NC"]
)
def test_a_program_of_any_name_from_checkin_to_the_stick(shop, tmp_path, name):
    job_with(shop, f"op10/{name}")
    shop.put(f"jobs/4471/op10/{name}", CRLF)
    check_in(shop)
    shop.json("show", "4471/op10@r1", "-o", str(tmp_path / "back.nc"))
    assert (tmp_path / "back.nc").read_bytes() == CRLF.encode()
    assert [file["name"] for file in shop.json("show", "4471")["files"]] == [name]
    assert shop.json("compare", f"jobs/4471/op10/{name}", "4471/op10@r1")["same_code"]
    prove_and_release(shop)
    stick = tmp_path / "Stick von Jürgen"
    stick.mkdir()
    shop.run("export", "--machine", "MILL2", "--to", str(stick), "--by", "ss", "--yes")
    (written,) = (stick / "MILL2").glob("*.NC")
    assert written.name == "O1001.NC"
    shop.put(f"jobs/4471/op10/{name}", CRLF.replace(*DEEPER))
    assert shop.json("status")["edited"] == [f"jobs/4471/op10/{name}"]
    assert shop.json("checkin", "4471", "-m", "deeper", "--by", "np")["revisions"][0]["kinds"] == ["motion"]


def test_upper_and_lower_case_of_a_name_count_and_the_near_one_is_named(shop):
    job_with(shop, "op10/o1001.NC")
    shop.put(PROGRAM, TEXT)
    if (shop.folder / "jobs/4471/op10/o1001.NC").exists():  # a disk that does not tell them apart
        return
    said = check_in(shop, status=2)
    assert "[missing-program]" in said
    assert "did you mean jobs/4471/op10/O1001.nc? Upper and lower case count" in said


@pytest.mark.parametrize(
    ("named", "there", "fix"),
    [
        ("op10/O1001.nc", "jobs/4471/op10/O1002.nc", "if it was recorded, git checkout HEAD -- "),
        ("op10/BR7.nc", "jobs/4471/op10/BRACKET.nc", "if it was recorded, git checkout HEAD -- "),
        ("op10/BRAKET.nc", "jobs/4471/op10/BRACKET.nc", "did you mean jobs/4471/op10/BRACKET.nc?"),
        (
            "op10/O1001.nc",
            "office/O1001.NC",
            "if it was moved, and office/O1001.NC is it, put that path into job.toml",
        ),
    ],
)
def test_of_a_program_that_is_gone_no_other_program_is_named_in_its_place(shop, named, there, fix):
    job_with(shop, named)
    shop.put(there, TEXT)
    said = check_in(shop, status=2)
    assert "[missing-program]" in said
    assert fix in said


def test_a_job_toml_that_is_gone_from_the_folder_is_said_and_how_it_comes_back(shop):
    job_with(shop, "op10/O1001.nc")
    shop.put(PROGRAM, TEXT)
    check_in(shop)
    (shop.folder / "jobs/4471/job.toml").unlink()
    back = 'git checkout HEAD -- ":/jobs/4471/job.toml" brings it back'
    for words in (["checkin"], ["checkin", "4471", "-m", "why", "--by", "np"], ["verify", "4471"]):
        said = " ".join(shop.run(*words, status=2).split())
        assert "jobs/4471/job.toml" in said
        assert "is recorded, and is not in this folder" in said
        assert back in said
    shop.git("checkout", "HEAD", "--", ":/jobs/4471/job.toml")
    assert shop.json("checkin")["changed"] == []


def test_two_names_that_are_one_on_windows_are_told_at_checkin(shop):
    job_with(shop, "op10/O1001.nc")
    shop.put(PROGRAM, TEXT)
    shop.put("jobs/4471/op10/o1001.NC", TEXT.replace(*DEEPER))
    if len(list((shop.folder / "jobs/4471/op10").iterdir())) == 1:  # a disk that does not tell them apart
        return
    assert "this is the same name as jobs/4471/op10/O1001.nc" in " ".join(check_in(shop).split())
    assert shop.json("show", "4471")["files"][0]["name"] == "O1001.nc"


@pytest.mark.skipif(sys.platform == "win32", reason="Windows cannot make files of these names")
@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("CON.nc", "for a device"),
        ("a:b.nc", "refuse : in a name"),
        ("O1.nc.", "drops a point or blank"),
        (f"{'L' * 200}.nc", "longer than 200 characters"),
    ],
)
def test_a_name_not_every_pc_can_hold_is_told_at_checkin(shop, name, why):
    job_with(shop, f"op10/{name}")
    shop.put(f"jobs/4471/op10/{name}", TEXT)
    said = shop.json("checkin", "4471", "-m", "first issue", "--by", "np")
    (note,) = said["names"]
    assert note.startswith(f"jobs/4471/op10/{name}: ")
    assert why in note


@pytest.mark.parametrize(
    ("program", "slug"),
    [
        ("op10\\\\O1001.nc", "wrong-job-file"),
        ("C:/programs/O1001.nc", "wrong-job-file"),
        ("C:\\\\programs\\\\O1001.nc", "wrong-job-file"),
        ("\\\\\\\\server\\\\share\\\\O1001.nc", "wrong-job-file"),
        ("//server/share/O1001.nc", "wrong-job-file"),
        ("/op10/O1001.nc", "wrong-job-file"),
        ("op10/O10\\n01.nc", "wrong-job-file"),
        ("", "wrong-job-file"),
        ("../../../O1001.nc", "wrong-job-file"),
        (f"op10/{'L' * 300}.nc", "missing-program"),
    ],
)
def test_a_path_that_cannot_be_meant_is_refused_with_its_line(shop, program, slug):
    """Backslashes are refused, with the line as it has to be: a job.toml reads the same on every PC."""
    job_with(shop, program)
    shop.put(PROGRAM, TEXT)
    said = check_in(shop, status=2)
    assert f"[{slug}]" in said
    assert f"--> {JOB_PATH}" in said
    assert "fix: " in said
    if "\\\\O1001" in program and ":" not in program and "server" not in program:
        assert 'program = "op10/O1001.nc"' in said


def test_a_path_through_the_folder_above_is_understood(shop):
    job_with(shop, "../../common/O1001.nc")
    shop.put("common/O1001.nc", TEXT)
    check_in(shop)
    assert shop.json("show", "4471")["files"][0]["path"] == "common/O1001.nc"


@pytest.mark.parametrize(("written", "on_disk"), [(NFC, NFD), (NFD, NFC)])
def test_a_letter_written_as_two_characters_is_not_taken_for_another_file(shop, written, on_disk):
    job_with(shop, f"op10/{written}")
    shop.put(f"jobs/4471/op10/{on_disk}", TEXT)
    if (shop.folder / "jobs/4471/op10" / written).exists():  # macOS: one file
        check_in(shop)
        return
    said = check_in(shop, status=2)
    assert "[missing-program]" in said
    assert "rename the file, typing its name anew" in said


def test_a_name_composed_otherwise_is_told_when_it_is_checked_in(shop):
    job_with(shop, f"op10/{NFD}")
    shop.put(f"jobs/4471/op10/{NFD}", TEXT)
    assert "not NFC" in check_in(shop) or sys.platform == "darwin"


# -- line ends --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("setting", ["true", "input", "false"])
@pytest.mark.parametrize("text", [TEXT, CRLF, TEXT.replace("\n", "\r\n", 3), CRLF.rstrip() + "\0\x1a"])
def test_git_s_line_end_settings_leave_the_bytes_alone(shop, tmp_path, monkeypatch, setting, text):
    shop.git("config", "core.autocrlf", setting)
    shop.git("config", "core.safecrlf", "true")
    job_with(shop, "op10/O1001.nc")
    shop.put(PROGRAM, text)
    check_in(shop)
    assert (shop.folder / PROGRAM).read_bytes() == text.encode()
    assert git(shop.folder, "status", "--porcelain") == ""
    assert shop.json("status").get("edited") is None
    size = int(shop.git("cat-file", "-s", f"HEAD:{PROGRAM}"))
    assert size == len(text.encode())
    git(tmp_path, "-c", f"core.autocrlf={setting}", "clone", "-q", str(shop.folder), "clone")
    assert (tmp_path / "clone" / PROGRAM).read_bytes() == text.encode()
    git(tmp_path / "clone", "config", "core.autocrlf", setting)
    assert git(tmp_path / "clone", "status", "--porcelain") == ""


def test_a_change_of_line_ends_alone_is_a_revision_without_kinds(shop):
    shop.git("config", "core.autocrlf", "true")
    job_with(shop, "op10/O1001.nc")
    shop.put(PROGRAM, TEXT)
    check_in(shop)
    shop.put(PROGRAM, CRLF)
    made = shop.json("checkin", "4471", "-m", "line ends", "--by", "np")["revisions"][0]
    assert (made["revision"], made["kinds"]) == ("r2", ["format"])
    assert shop.git("cat-file", "-s", f"HEAD:{PROGRAM}") == str(len(CRLF))


# -- where a call is made from ----------------------------------------------------------------------------------------


def call(*words: str) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(list(words))
    return status, out.getvalue(), err.getvalue()


@pytest.fixture
def begun(shop) -> ShopFolder:
    job_with(shop, "op10/O1001.nc")
    shop.put(PROGRAM, TEXT)
    check_in(shop)
    return shop


VERBS = (["status"], ["show", "4471"], ["history", "4471"], ["audit"], ["compare", "4471@r1", "4471@r1"])


@pytest.mark.parametrize("words", VERBS)
def test_a_relative_folder_before_and_after_the_verb(begun, monkeypatch, words):
    monkeypatch.chdir(begun.folder.parent)
    expected = call("-C", str(begun.folder), *words)
    assert expected[0] == 0
    for folder in (
        begun.folder.name,
        f"./{begun.folder.name}",
        f"../{begun.folder.parent.name}/{begun.folder.name}",
    ):
        for spelled in (["-C", folder, *words], [*words, "-C", folder]):
            monkeypatch.chdir(begun.folder.parent)
            assert call(*spelled) == expected


@pytest.mark.parametrize("words", VERBS)
@pytest.mark.parametrize("below", ["jobs", "jobs/4471/op10", "jobs/4471/records/op10"])
def test_from_a_folder_of_the_shop(begun, monkeypatch, words, below):
    expected = call("-C", str(begun.folder), *words)
    monkeypatch.chdir(begun.folder / below)
    assert call(*words) == expected


def test_files_are_named_from_the_folder_a_call_is_made_in(begun, monkeypatch):
    monkeypatch.chdir(begun.folder / "jobs/4471/op10")
    for words in (["identify", "O1001.nc"], ["fingerprint", "O1001.nc"], ["compare", "O1001.nc", "4471@r1"]):
        status, out, err = call(*words)
        assert status == (1 if words[0] == "identify" else 0), err
        assert "O1001.nc" in out or words[0] == "compare"
    monkeypatch.chdir(begun.folder.parent)
    for words in (["identify", "O1001.nc"], ["fingerprint", "O1001.nc"], ["compare", "O1001.nc", "4471@r1"]):
        monkeypatch.chdir(begun.folder.parent)
        status, _, err = call("-C", f"{begun.folder.name}/jobs/4471/op10", *words)
        assert status == (1 if words[0] == "identify" else 0), err


def test_writing_from_a_folder_of_the_shop_touches_the_whole_shop(begun, monkeypatch):
    begun.put(PROGRAM, TEXT.replace(*DEEPER))
    monkeypatch.chdir(begun.folder / "jobs/4471/records")
    status, _, err = call("checkin", "4471", "-m", "deeper", "--by", "np")
    assert (status, err) == (0, "")
    assert begun.git("status", "--porcelain") == ""
    assert [row["revision"] for row in begun.rows()] == ["r2"]
    assert [path.name for path in (begun.folder / "jobs/4471/records").iterdir()] == ["op10"]


# -- linked worktrees -------------------------------------------------------------------------------------------------


@pytest.fixture
def linked(begun, tmp_path, capsys, monkeypatch) -> ShopFolder:
    begun.git("worktree", "add", "-q", "-b", "Änderung", str(tmp_path / "zweiter Baum"))
    return ShopFolder(tmp_path / "zweiter Baum", capsys, monkeypatch)


def test_a_linked_worktree_checks_in_on_its_own_branch(begun, linked):
    linked.put(PROGRAM, TEXT.replace(*DEEPER))
    assert linked.json("status")["edited"] == [PROGRAM]
    assert begun.json("status").get("edited") is None
    before = begun.git("rev-parse", "main")
    linked.run("checkin", "4471", "-m", "deeper", "--by", "np")
    assert linked.git("status", "--porcelain") == ""
    assert begun.git("rev-parse", "main") == before
    assert begun.git("status", "--porcelain") == ""
    assert [row["revision"] for row in linked.rows()] == ["r2"]
    assert [row["revision"] for row in begun.rows()] == ["r1"]


def test_a_hold_in_a_linked_worktree_counts_in_the_other(begun, linked):
    linked.run("hold", "4471/op10", "--by", "ss", "-m", "gauge out")
    assert [row["standing"] for row in begun.rows()] == ["held"]


def test_install_and_the_gate_work_from_a_linked_worktree(begun, linked):
    linked.prove()
    linked.run("install")
    assert (begun.folder / ".git/hooks/reference-transaction").exists()
    linked.run("release", "4471", "--by", "dg", "--yes")
    assert linked.git("tag", "--list") == "release/4471/1"
    assert linked.json("doctor", status=1)["points"][4]["state"] == "on"
    assert linked.json("audit")["problems"] == []


def test_the_folder_of_git_itself_is_no_working_folder(begun):
    status, out, err = call("-C", str(begun.folder / ".git"), "checkin", "4471", "-m", "x", "--by", "np")
    assert (status, out) == (4, "")
    assert "fix: " in err


def test_no_file_is_left_beside_what_was_written(begun):
    begun.put(PROGRAM, TEXT.replace(*DEEPER))
    begun.run("checkin", "4471", "-m", "deeper", "--by", "np")
    left = [
        path for path in Path(begun.folder).rglob("*") if path.suffix in (".part", ".lock", ".new", ".tmp")
    ]
    assert left == []
