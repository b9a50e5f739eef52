"""What people get wrong with check-in and the verbs that read: one clear answer each, and nothing written."""

import json
import shutil
from pathlib import Path

import pytest

from tests.fakes.shop_folder import CALLED, JOB, JOB_PATH, MAIN, PROGRAM, SHOP, ShopFolder, git
from tracker.cli.entry import main

READING = (
    ["status"],
    ["show", "4471/op10@r1"],
    ["history", "4471"],
    ["compare", "4471/op10@r1", "4471/op10@r1"],
)
WRITING = (["checkin", "4471/op10", "-m", "x", "--by", "np"], ["checkin", "--all", "-m", "x", "--by", "np"])


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    folder = tmp_path / "Geschäft mit Blank"
    folder.mkdir()
    made = ShopFolder(folder, capsys, monkeypatch)
    made.at("2026-02-02T09:00:00Z")
    return made


@pytest.fixture(scope="module")
def kept(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("kept") / "shop"


@pytest.fixture
def begun(shop, kept) -> ShopFolder:
    """A shop whose job 4471 is checked in: made once, copied for every test."""
    if not kept.exists():
        shop.begin()
        shutil.copytree(shop.folder, kept)
    else:
        shutil.copytree(kept, shop.folder, dirs_exist_ok=True)
    return shop


def state(shop: ShopFolder) -> tuple[object, ...]:
    files = {
        path.relative_to(shop.folder): path.read_bytes()
        for path in shop.folder.rglob("*")
        if path.is_file() and ".git" not in path.parts
    }
    return shop.commits(), shop.git("status", "--porcelain"), shop.git("for-each-ref"), files


def refused(shop: ShopFolder, words: list[str], status: int, slug: str, *said: str) -> None:
    """The call ends so, in words and as JSON, and leaves everything as it was."""
    before = state(shop)
    got, out, err = shop.call(*words)
    assert (got, out) == (status, ""), err
    assert f"[{slug}]" in err.splitlines()[0]
    for text in said:
        assert text in err
    got, out, err = shop.call(*words, "--json")
    error = json.loads(out)["error"]
    assert (got, err, error["name"]) == (status, "", slug)
    assert error["message"]
    assert state(shop) == before


@pytest.mark.parametrize("words", [*READING, *WRITING, ["checkin"]])
def test_no_repository(tmp_path, capsys, words):
    assert main(["-C", str(tmp_path), *words]) == 4
    out, err = capsys.readouterr()
    assert "[no-repository]" in err
    assert out == ""
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("words", [*READING, *WRITING, ["checkin"]])
def test_no_shop(shop, words):
    git(shop.folder, "init", "-q")
    shop.put("a.nc", MAIN)
    git(shop.folder, "add", "a.nc")
    git(shop.folder, "commit", "-qm", "a")
    refused(shop, words, 4, "no-shop", "proveout init")


@pytest.mark.parametrize("words", [*READING, *WRITING])
def test_a_shallow_clone(begun, tmp_path, capsys, monkeypatch, words):
    begun.put(PROGRAM, MAIN.replace("Z-1.16", "Z-1.2"))
    begun.run("checkin", "4471", "-m", "deeper", "--by", "np")
    git(tmp_path, "clone", "-q", "--depth", "1", begun.folder.as_uri(), "shallow")
    shallow = ShopFolder(tmp_path / "shallow", capsys, monkeypatch)
    refused(shallow, words, 4, "shallow", "unshallow")


@pytest.mark.parametrize("words", WRITING)
def test_a_detached_head(begun, words):
    begun.git("checkout", "-q", "--detach")
    begun.put(PROGRAM, MAIN.replace("Z-1.16", "Z-1.2"))
    refused(begun, words, 1, "detached-head", "git switch")


def test_a_detached_head_can_still_be_read(begun):
    begun.git("checkout", "-q", "--detach")
    for words in READING:
        begun.run(*words)


@pytest.mark.parametrize(
    ("words", "slug", "said"),
    [
        (["checkin", "4472", "-m", "x", "--by", "np"], "unknown-job", "4471"),
        (["checkin", "4471/op11", "-m", "x", "--by", "np"], "unknown-operation", "op10"),
        (["checkin", "44 71/", "-m", "x", "--by", "np"], "bad-name", "4471/op10"),
        (["checkin", "4471", "--by", "np"], "no-reason", "-m"),
        (["checkin", "4471", "-m", "x", "--by", "zz"], "unknown-person", "np, ss, dg"),
        (["checkin", "4471", "-m", "x"], "who", "--by"),
        (["checkin", "4471", "-m", "x", "--by", "ss", "--entered-by", "zz"], "unknown-person", "np"),
        (["checkin", "4471", "shop.toml", "-m", "x", "--by", "np"], "shop-alone", "another call"),
        (["show", "4472/op10"], "unknown-job", "4471"),
        (["show", "4471/op11"], "unknown-operation", "op10"),
        (["show", "4471/op10@r7"], "unknown-revision", "r1"),
        (["show", "4471/op10@r1-00000000"], "unknown-revision", "r1"),
        (["show", "4471/op10@x"], "bad-name", "4471/op10@r4"),
        (["history", "4472"], "unknown-job", "4471"),
        (["history", "4471/op11"], "unknown-operation", "op10"),
        (["history", "--machine", "MIL2"], "unknown-machine", "MILL2"),
        (["history", "--person", "zz"], "unknown-person", "np"),
        (["history", "--event", "prooof"], "unknown-event", "proof"),
        (["status", "--machine", "MIL2"], "unknown-machine", "MILL2"),
        (["status", "--job", "4472"], "unknown-job", "4471"),
        (["compare", "4471/op10@r1", "4471/op10@r2"], "unknown-revision", "r1"),
        (["compare", "4472/op10@r1", "4471/op10@r1"], "unknown-job", "4471"),
        (["compare", "missing.nc", PROGRAM], "missing-file", "missing.nc"),
        (["compare", PROGRAM, "jobs"], "is-a-folder", "jobs"),
        (["compare", PROGRAM, "op10/O1001"], "missing-file", "op10/O1001"),
        (["compare", PROGRAM, "4471/op11"], "unknown-operation", "op10"),
        (["compare", PROGRAM], "wrong-call", "NEW"),
        (["status", "--frob"], "wrong-call", "--frob"),
    ],
)
def test_a_wrong_call(begun, words, slug, said):
    refused(begun, words, 2, slug, said)


def test_compare_of_a_missing_file_outside_any_repository(tmp_path, capsys):
    (tmp_path / "a.nc").write_bytes(b"G1 X1.\n")
    for name in ("b.nc", "old/O1001", "O1001"):
        assert main(["-C", str(tmp_path), "compare", "a.nc", name]) == 2
        assert "[missing-file]" in capsys.readouterr().err
    assert main(["-C", str(tmp_path), "compare", "a.nc", "4471/op10@r1"]) == 4
    assert "[no-repository]" in capsys.readouterr().err


def test_a_file_without_permission(begun, monkeypatch):
    real = Path.read_bytes

    def read_bytes(self):
        if self.name == "O1001.nc":
            raise PermissionError(13, "Permission denied", str(self))
        return real(self)

    monkeypatch.setattr(Path, "read_bytes", read_bytes)
    got, _, err = begun.call("checkin", "4471", "-m", "x", "--by", "np")
    assert got == 4
    assert "[no-permission]" in err
    assert PROGRAM in err


@pytest.mark.parametrize(
    ("text", "slug"),
    [
        (JOB.replace('number = "4471"', "number = 4471"), "wrong-job-file"),
        (JOB.replace("fixture", "fixtur") + "\nfixtur = 1\n", "wrong-job-file"),
        (JOB + "[[[", "broken-toml"),
        (JOB.encode() + b"\xff", "not-utf8"),
    ],
)
def test_a_broken_job_file_names_its_line(begun, text, slug):
    begun.put(JOB_PATH, text)
    refused(begun, ["checkin", "4471", "-m", "x", "--by", "np"], 2, slug, f"--> {JOB_PATH}:")


def test_a_broken_job_file_stops_no_other_job(begun):
    begun.put("jobs/4472/job.toml", "[[[")
    begun.put(PROGRAM, MAIN.replace("Z-1.16", "Z-1.2"))
    got, out, _ = begun.call("checkin")
    assert got == 2
    assert "4471/op10" in out
    assert "jobs/4472/job.toml" in out
    begun.run("checkin", "4471", "-m", "deeper", "--by", "np")
    assert begun.rows()[0]["revision"] == "r2"


def test_a_broken_job_file_in_the_record_stops_no_status(begun):
    begun.put("jobs/4472/job.toml", "[[[")
    begun.git("add", "jobs/4472")
    begun.git("commit", "-qm", "broken")
    report = begun.json("status", status=2)
    assert [row["job"] for row in report["operations"]] == ["4471"]
    assert "jobs/4472/job.toml" in report["problems"][0]
    assert begun.json("status", "--job", "4471")["operations"]


def test_a_broken_shop_file(begun):
    begun.put("shop.toml", SHOP + "[[[")
    refused(begun, ["checkin", "shop.toml", "-m", "x", "--by", "dg"], 2, "broken-toml", "shop.toml:")


def test_a_shop_file_edited_by_somebody_without_the_role(begun):
    begun.put("shop.toml", SHOP.replace("MILL2", "MILL9"))
    refused(begun, ["checkin", "shop.toml", "-m", "x", "--by", "np"], 1, "wrong-role", "dg")


def test_a_person_not_checked_in_yet_is_said_so(begun):
    new = '[[people]]\ninitials = "zz"\nname = "Z"\nemail = "z@shop.example"\nroles = ["programmer"]\n'
    begun.put("shop.toml", SHOP + new)
    words = ["checkin", "4471", "-m", "x", "--by", "zz"]
    refused(begun, words, 2, "unknown-person", "proveout checkin shop.toml")
    begun.run("checkin", "shop.toml", "-m", "zz joins", "--by", "dg")
    begun.put(PROGRAM, MAIN.replace("Z-1.16", "Z-1.2"))
    begun.run(*words)


@pytest.mark.parametrize("data", [b"", b"%\r\n%\r\n", b"(ONLY WORDS)\n"])
@pytest.mark.parametrize("path", [PROGRAM, CALLED])
def test_an_empty_program(begun, data, path):
    begun.put(path, data)
    words = ["checkin", "4471", "-m", "x", "--by", "np"]
    before = state(begun)
    got, _, err = begun.call(*words)
    assert state(begun) == before
    if path == CALLED and data:  # it does not say any more that it is O1002, but its name does
        assert got == 1
    assert (got, "[no-code]" in err, path in err) == (1, True, True)


def test_a_binary_program_is_taken_with_a_note(begun):
    binary = bytes(range(256)) * 20
    begun.put(PROGRAM, binary)
    out = begun.run("checkin", "4471", "-m", "x", "--by", "np")
    assert "kept to the letter" in out
    assert begun.git("cat-file", "-s", f"HEAD:{PROGRAM}") == str(len(binary))


def test_a_program_that_is_gone(begun):
    (begun.folder / PROGRAM).unlink()
    refused(begun, ["checkin", "4471", "-m", "x", "--by", "np"], 2, "missing-program", JOB_PATH)


def test_a_program_that_is_a_folder(begun):
    (begun.folder / PROGRAM).unlink()
    (begun.folder / PROGRAM).mkdir()
    refused(begun, ["checkin", "4471", "-m", "x", "--by", "np"], 2, "missing-program", JOB_PATH)


@pytest.mark.parametrize("program", ["../../../outside.nc", "/etc/passwd"])
def test_a_program_outside(begun, program):
    begun.put(JOB_PATH, JOB.replace("op10/O1001.nc", program))
    got, _, err = begun.call("checkin", "4471", "-m", "x", "--by", "np")
    assert got == 2
    assert f"{JOB_PATH}:" in err


def test_a_release_tag_on_a_blob_is_no_release(begun):
    blob = begun.git("hash-object", "-w", PROGRAM)
    begun.git("tag", "release/4471/1", blob)
    (row,) = begun.rows()
    assert (row["released"], row["may_run"]) == (None, False)
    begun.put(PROGRAM, MAIN.replace("Z-1.16", "Z-1.2"))
    begun.run("checkin", "4471", "-m", "deeper", "--by", "np")


def test_a_damaged_record_is_said_and_the_rest_shown(begun):
    record = next(begun.folder.glob("jobs/4471/records/op10/*.toml"))
    begun.put("jobs/4471/records/op10/r0009-00000000.toml", "not [ toml")
    begun.git("add", "jobs")
    begun.git("commit", "-qm", "damaged")
    report = begun.json("status", status=4)
    assert [row["revision"] for row in report["operations"]] == ["r1"]
    assert any("r0009-00000000" in line for line in report["unreadable"])
    assert record.exists()


def test_a_wrong_role(begun):
    begun.put(PROGRAM, MAIN.replace("Z-1.16", "Z-1.2"))
    refused(begun, ["checkin", "4471", "-m", "x", "--by", "ss"], 1, "wrong-role", "ss")
    refused(begun, ["checkin", "4471", "-m", "x", "--by", "dg", "--off-control"], 1, "wrong-role", "dg")
    begun.run("checkin", "4471", "-m", "x", "--by", "ss", "--entered-by", "np")


def test_show_writes_bytes_and_never_over_anything(begun, tmp_path):
    out = tmp_path / "back.nc"
    begun.run("show", "4471/op10@r1", "-o", str(out))
    assert out.read_bytes() == MAIN.encode()
    begun.run("show", "4471/op10@r1", "-o", str(out))
    out.write_bytes(b"mine")
    refused(begun, ["show", "4471/op10@r1", "-o", str(out)], 2, "file-exists", "--yes")
    assert out.read_bytes() == b"mine"
    begun.run("show", "4471/op10@r1", "-o", str(out), "--yes")
    assert out.read_bytes() == MAIN.encode()
    folder = tmp_path / "all"
    folder.mkdir()
    begun.run("show", "4471", "-o", str(folder))
    assert sorted(path.name for path in folder.iterdir()) == ["O1001.nc", "O1002.nc"]
    refused(begun, ["show", "4471", "-o", str(tmp_path / "no" / "x.nc")], 2, "no-such-folder", "folder")


@pytest.mark.parametrize(
    ("words", "status", "slug"),
    [
        (["init", ".", "--name", "Test shop"], 1, "shop-exists"),
        (["init", "jobs", "--name", "Test shop"], 1, "inside-repository"),
        (["init", "shop.toml", "--name", "Test shop"], 2, "is-a-file"),
        (["init", ".", "--name", " "], 2, "no-name"),
        (["init", "."], 2, "not-a-terminal"),
    ],
)
def test_init_in_the_wrong_place(begun, words, status, slug):
    refused(begun, words, status, slug)


def test_init_beside_work_that_is_staged(shop):
    shop.git("init", "-q", "-b", "main")
    shop.put("O1.nc", "O1\r\nM30\r\n")
    shop.put("O2.nc", "O2\nM30\n")
    shop.git("add", "O1.nc")
    shop.run("init", ".", "--name", "Test shop")
    assert shop.git("status", "--porcelain").splitlines() == ["A  O1.nc", "?? O2.nc"]
    assert (shop.folder / "O1.nc").read_bytes() == b"O1\r\nM30\r\n"
    held = (shop.folder / ".git/info/attributes").read_text()
    assert "* -text" in held
    assert shop.git("check-attr", "merge", "diff", "text", "--", "O1.nc").splitlines() == [
        "O1.nc: merge: unset",
        "O1.nc: diff: nc",
        "O1.nc: text: unset",
    ]
