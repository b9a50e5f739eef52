import json

import pytest

from tests.fakes.floor import Floor
from tracker.cli.entry import main
from tracker.cli.frame import Frame
from tracker.reports.sheet_html import MARK

CALL = ["sheet", "4471/op10", "--machine", "MILL2"]


@pytest.fixture
def floor(monkeypatch, tmp_path):
    made = Floor()
    monkeypatch.setattr(Frame, "desk", lambda self: made.desk())
    monkeypatch.chdir(tmp_path)
    return made


def answer(capsys, *words):
    status = main(list(words))
    said = capsys.readouterr()
    return status, said.out, said.err


def files(folder):
    return sorted(path.name for path in folder.iterdir())


def test_the_screen(floor, capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    status, out, err = answer(capsys, *CALL)
    assert (status, err) == (0, "")
    assert out.startswith("Setup sheet 4471/op10 r1 on MILL2   id ")
    assert max(len(line) for line in out.splitlines()) <= 80


@pytest.mark.parametrize("name", ["sheet.html", "blatt für m2.html"])
def test_a_page(floor, capsys, tmp_path, name):
    status, out, err = answer(capsys, *CALL, "--html", name)
    assert (status, err) == (0, "")
    assert out.splitlines()[0] == f"written: {name}"
    text = (tmp_path / name).read_text(encoding="utf-8")
    assert text.splitlines()[1] == MARK
    assert "size: A4 portrait" in text
    assert files(tmp_path) == [name]


def test_paper_from_the_shop_and_from_the_call(floor, capsys, tmp_path):
    shop = floor.repo.work["shop.toml"].decode().replace("[shop]\n", '[shop]\npaper = "letter"\n')
    floor.repo.save({"shop.toml": shop})
    assert answer(capsys, *CALL, "--html", "a.html")[0] == 0
    assert "size: letter portrait" in (tmp_path / "a.html").read_text(encoding="utf-8")
    assert answer(capsys, *CALL, "--html", "a.html", "--paper", "A4")[0] == 0
    assert "size: A4 portrait" in (tmp_path / "a.html").read_text(encoding="utf-8")


def test_an_older_sheet_is_replaced(floor, capsys, tmp_path):
    assert answer(capsys, *CALL, "--html", "a.html")[0] == 0
    first = (tmp_path / "a.html").read_bytes()
    floor.edit("Z-1.16", "Z-1.2")
    assert answer(capsys, *CALL, "--html", "a.html")[0] == 0
    assert (tmp_path / "a.html").read_bytes() != first
    assert files(tmp_path) == ["a.html"]


@pytest.mark.parametrize("content", [b"", b"O1001\nM30\n", f"<html>\n{'x' * 500}\n{MARK}".encode()])
def test_another_file_is_not_written_over(floor, capsys, tmp_path, content):
    (tmp_path / "a.nc").write_bytes(content)
    status, out, err = answer(capsys, *CALL, "--html", "a.nc")
    assert (status, out) == (2, "")
    assert "[file-exists]" in err
    assert "--force" in err
    assert (tmp_path / "a.nc").read_bytes() == content
    assert answer(capsys, *CALL, "--html", "a.nc", "--force")[0] == 0
    assert MARK in (tmp_path / "a.nc").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        ([*CALL, "--html", "."], 2, "is-a-folder"),
        ([*CALL, "--html", "none/a.html"], 2, "no-such-folder"),
        ([*CALL, "--html", "a.html", "--paper", "a3"], 2, "wrong-call"),
        ([*CALL, "--paper", "a4"], 2, "wrong-call"),
        ([*CALL, "--html", "-", "--json"], 2, "wrong-call"),
        (["sheet"], 2, "wrong-call"),
        (["sheet", "4471/op10"], 2, "which-machine"),
        (["sheet", "4471/op10", "--machine", "MILL3"], 2, "not-its-machine"),
        (["sheet", "4471/op10@r7", "--machine", "MILL2"], 2, "unknown-revision"),
        (["sheet", "4471//", "--machine", "MILL2"], 2, "bad-name"),
    ],
)
def test_wrong_calls(floor, capsys, tmp_path, words, status, name):
    ended, out, err = answer(capsys, *words)
    assert ended == status
    assert f"[{name}]" in err if "--json" not in words else json.loads(out)["error"]["name"] == name
    assert files(tmp_path) == []


def test_a_disk_that_is_full_leaves_the_old_sheet(floor, capsys, tmp_path, monkeypatch):
    assert answer(capsys, *CALL, "--html", "a.html")[0] == 0
    before = (tmp_path / "a.html").read_bytes()

    def full(file, data):
        file.write(data[:100])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tracker.cli.sheet_file.write_through", full)
    status, _, err = answer(capsys, *CALL, "--html", "a.html")
    assert status == 4
    assert "[not-written]" in err
    assert "No space left" in err
    assert ((tmp_path / "a.html").read_bytes(), files(tmp_path)) == (before, ["a.html"])


def test_a_place_that_cannot_be_taken_leaves_nothing_half(floor, capsys, tmp_path, monkeypatch):
    def refused(self, target):
        raise PermissionError(13, "Permission denied", str(target))

    monkeypatch.setattr(type(tmp_path), "replace", refused)
    status, _, err = answer(capsys, *CALL, "--html", "a.html")
    assert (status, files(tmp_path)) == (4, [])
    assert "[not-written]" in err


def test_json_with_a_page(floor, capsys, tmp_path):
    status, out, _ = answer(capsys, *CALL, "--html", "a.html", "--json")
    said = json.loads(out)
    assert (status, said["schema"], said["written"]) == (0, "proveout/sheet/1", "a.html")
    assert files(tmp_path) == ["a.html"]


def test_standard_output(floor, capsysbinary, tmp_path):
    assert main([*CALL, "--html", "-"]) == 0
    out = capsysbinary.readouterr().out
    assert out.startswith(b"<!DOCTYPE html>\n<!-- setup sheet")
    assert files(tmp_path) == []
