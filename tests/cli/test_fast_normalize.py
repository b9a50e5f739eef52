import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tracker.cli import entry
from tracker.nc.canonical import canonical
from tracker.nc.forgit import for_git

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = b"%\nO4711 (PLATE)\nN10 G0 X1.50 (FIRST) (SECOND)\nN20 M30\n%\n"
CANONICAL = b"O4711\nG0X1.5\nM30\n"


@pytest.fixture
def program(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.nc").write_bytes(PROGRAM)
    return tmp_path


def test_the_canonical_form_and_nothing_else(program, capsysbinary):
    assert entry.main(["normalize", "a.nc"]) == 0
    assert capsysbinary.readouterr() == (CANONICAL, b"")


def test_normalizing_twice_changes_nothing(program, capsysbinary):
    (program / "b.nc").write_bytes(CANONICAL)
    assert entry.main(["normalize", "b.nc"]) == 0
    assert capsysbinary.readouterr().out == CANONICAL


def test_strict_keeps_every_number(program, capsysbinary):
    assert entry.main(["normalize", "--strict", "a.nc"]) == 0
    assert capsysbinary.readouterr().out == b"O4711\nN10G0X1.5\nN20M30\n"


def test_the_form_git_shows(program, capsysbinary):
    assert entry.main(["normalize", "--for-git", "a.nc"]) == 0
    head, *rest = capsysbinary.readouterr().out.splitlines()
    digits = hashlib.sha256(PROGRAM).hexdigest()[:8].encode()
    assert head == b"numbering N10-N20 step 10; 3 comments; blanks, zeros or case; bytes " + digits
    assert rest == [b"(PLATE)", b"O4711", b"(FIRST)", b"(SECOND)", b"G0X1.5", b"M30"]


@pytest.mark.parametrize("data", [PROGRAM, b"BEGIN PGM A MM\n", b"\x00\xff", b"", b"G1 (OPEN\nN1 GOTO 1\n"])
def test_both_engines_show_git_the_same(data):
    from tracker.nc import scan

    shown = for_git(data)
    scan.use(plain=True)
    try:
        assert for_git(data) == shown
    finally:
        scan.use(plain=False)


def test_a_renumbering_never_shows_as_nothing(program):
    assert for_git(PROGRAM) != for_git(PROGRAM.replace(b"N20", b"N15"))


def test_standard_input(program):
    call = [sys.executable, "-m", "tracker", "normalize", "-"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    ran = subprocess.run(call, input=PROGRAM, capture_output=True, check=True, env=environment)
    assert ran.stdout == CANONICAL


@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_long_program_arrives_whole(program, unbuffered):
    data = b"G1 X1.\n" * 300_000
    (program / "long.nc").write_bytes(data)
    call = [sys.executable, "-m", "tracker", "normalize", "long.nc"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": unbuffered}
    ran = subprocess.run(call, capture_output=True, check=True, env=environment)
    assert ran.stdout == b"G1X1.\n" * 300_000


@pytest.mark.parametrize("words", [["-o", "out.txt"], ["--output", "out.txt"], ["--output=out.txt"]])
def test_into_a_file(program, capsysbinary, words):
    (program / "out.txt").write_bytes(b"old")
    assert entry.main(["normalize", "a.nc", *words]) == 0
    assert (program / "out.txt").read_bytes() == CANONICAL
    assert capsysbinary.readouterr().out == b""
    assert sorted(path.name for path in program.iterdir()) == ["a.nc", "out.txt"]


def test_a_file_that_cannot_be_written_leaves_what_was_there(program, capsys, monkeypatch):
    (program / "out.txt").write_bytes(b"old")

    def full(*args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    assert entry.main(["normalize", "a.nc", "-o", "out.txt"]) == 4
    assert "[not-written]" in capsys.readouterr().err
    assert (program / "out.txt").read_bytes() == b"old"
    assert sorted(path.name for path in program.iterdir()) == ["a.nc", "out.txt"]


def test_into_a_folder_that_is_not_there(program, capsys):
    assert entry.main(["normalize", "a.nc", "-o", "gone/out.txt"]) == 4
    assert "  --> gone/out.txt" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        ([], 2, "one-file"),
        (["a.nc", "a.nc"], 2, "one-file"),
        (["gone.nc"], 2, "missing-file"),
        (["."], 2, "is-a-folder"),
        (["a.nc", "-o"], 2, "missing-value"),
        (["a.nc", "--frob"], 2, "unknown-option"),
        (["a.nc", "--for-git", "--strict"], 2, "either-or"),
    ],
)
def test_a_wrong_call(program, capsys, words, status, name):
    assert entry.main(["normalize", *words]) == status
    assert f"[{name}]" in capsys.readouterr().err


def test_an_error_in_json(program, capsys):
    assert entry.main(["normalize", "a.nc", "--json"]) == 2
    assert json.loads(capsys.readouterr().out)["error"]["name"] == "no-json"


def test_the_plain_reference_on_request(program, capsysbinary, monkeypatch):
    from tracker.nc import scan

    monkeypatch.setenv("PROVEOUT_PURE", "1")
    try:
        assert entry.main(["normalize", "a.nc"]) == 0
        assert scan.engine() == "plain"
    finally:
        scan.use(plain=False)
    assert capsysbinary.readouterr().out == CANONICAL == canonical(PROGRAM)
