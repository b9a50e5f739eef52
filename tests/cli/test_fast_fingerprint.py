import hashlib
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tracker.cli import entry, fast_fingerprint
from tracker.errors import CouldNot

PROGRAM = b"%\nO4711 (PLATE)\nN10 G0 X1.50\nN20 M30\n%\n"
SAME = b"%\r\nO4711\r\nG00 X1.5\r\nM30\r\n%\r\n"
OTHER = b"%\nO4711\nG0 X1.6\nM30\n%\n"


@pytest.fixture
def programs(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name, data in (("a.nc", PROGRAM), ("b b.nc", SAME), ("ä.nc", OTHER)):
        (tmp_path / name).write_bytes(data)
    return tmp_path


def test_one_line_a_file(programs, capsys):
    assert entry.main(["fingerprint", "a.nc", "b b.nc", "ä.nc"]) == 0
    rows = [line.split("  ") for line in capsys.readouterr().out.splitlines()]
    assert [row[3] for row in rows] == ["a.nc", "b b.nc", "ä.nc"]
    assert all(row[1].startswith(row[0]) and len(row[0]) == 8 and len(row[1]) == 64 for row in rows)
    assert [row[2] for row in rows] == ["word-address"] * 3
    assert rows[0][1] == rows[1][1]
    assert rows[0][1] != rows[2][1]


def test_the_json_document(programs, capsys):
    assert entry.main(["fingerprint", "a.nc", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert list(document) == ["schema", "files"]
    assert document["schema"] == "proveout/fingerprint/1"
    [file] = document["files"]
    assert list(file) == [
        "file", "fingerprint", "raw_sha256", "bytes", "blocks", "dialect", "rule_version", "notes",
    ]  # fmt: skip
    assert file["file"] == "a.nc"
    assert file["raw_sha256"] == hashlib.sha256(PROGRAM).hexdigest()
    assert file["bytes"] == len(PROGRAM)
    assert file["blocks"] == 3
    assert file["dialect"] == "word-address"
    assert file["notes"] == []


def test_the_fingerprint_is_the_hash_of_what_normalize_prints(programs, capsysbinary):
    assert entry.main(["normalize", "a.nc"]) == 0
    printed = capsysbinary.readouterr().out
    assert entry.main(["fingerprint", "a.nc", "--json"]) == 0
    [file] = json.loads(capsysbinary.readouterr().out)["files"]
    head = f"proveout canonical {file['rule_version']} {file['dialect']}\n".encode()
    assert file["fingerprint"] == hashlib.sha256(head + printed).hexdigest()
    assert printed.count(b"\n") == file["blocks"]


def test_a_missing_file_does_not_stop_the_others(programs, capsys):
    assert entry.main(["fingerprint", "gone.nc", "a.nc"]) == 2
    out, err = capsys.readouterr()
    assert out.endswith("  a.nc\n")
    assert err.splitlines() == [
        "There is no such file.  [missing-file]",
        "  --> gone.nc",
        "  fix: Check the name and the folder.",
    ]


def test_a_missing_file_in_json(programs, capsys):
    assert entry.main(["fingerprint", "gone.nc", "a.nc", ".", "--json"]) == 2
    out, err = capsys.readouterr()
    document = json.loads(out)
    assert next(iter(document)) == "schema"
    assert [file["file"] for file in document["files"]] == ["a.nc"]
    assert document["error"]["name"] == "missing-file"
    assert [error["name"] for error in document["errors"]] == ["missing-file", "is-a-folder"]
    assert err == ""


def test_the_worst_status_wins(programs, capsys, monkeypatch):
    def read(name, *, strict):
        if name == "a.nc":
            raise CouldNot("no-permission", "No.", where=name)
        return plain(name, strict=strict)

    plain = fast_fingerprint.identify
    monkeypatch.setattr(fast_fingerprint, "identify", read)
    assert entry.main(["fingerprint", "a.nc", "gone.nc", "b b.nc"]) == 4
    assert capsys.readouterr().out.endswith("  b b.nc\n")


@pytest.mark.skipif(os.name == "nt", reason="this system keeps no file from its owner by its mode")
def test_no_permission_for_real(programs):
    for folder in (programs, *programs.parents):
        if folder.stat().st_uid == os.geteuid() and folder.is_relative_to(tempfile.gettempdir()):
            folder.chmod(folder.stat().st_mode | 0o055)
    Path("b b.nc").chmod(0o444)
    Path("a.nc").chmod(0)
    code = (
        "import sys\nfrom tracker.cli import entry\nsys.exit(entry.main(['fingerprint', 'a.nc', 'b b.nc']))"
    )
    # What is imported is read before the rights are given up: the checkout may be closed to others.
    before = (
        "import os\nfrom tracker.cli import entry\nopen('b b.nc').close()\n"
        "assert entry.main(['fingerprint', 'b b.nc']) == 0\n"
        "assert entry.main(['fingerprint', 'gone.nc', '.']) == 2\n"
    )
    drop = "if os.geteuid() == 0:\n    os.setgroups([])\n    os.setgid(65534)\n    os.setuid(65534)\n"
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    ran = subprocess.run(
        [sys.executable, "-c", before + drop + code],
        capture_output=True, text=True, encoding="utf-8", check=False, env=environment,
    )  # fmt: skip
    assert ran.returncode == 4, ran.stderr
    assert "[no-permission]" in ran.stderr
    assert "a.nc" in ran.stderr
    assert [line.rpartition("  ")[2] for line in ran.stdout.splitlines()] == ["b b.nc", "b b.nc"]


def test_no_permission(programs, capsys, monkeypatch):
    def forbid(*args, **kwargs):
        raise PermissionError(13, "Permission denied", "a.nc")

    monkeypatch.setattr("builtins.open", forbid)
    assert entry.main(["fingerprint", "a.nc"]) == 4
    assert "[no-permission]" in capsys.readouterr().err


def test_a_medium_that_goes_away(programs, capsys, monkeypatch):
    def gone(*args, **kwargs):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr("builtins.open", gone)
    assert entry.main(["fingerprint", "a.nc"]) == 4
    assert "[not-readable]" in capsys.readouterr().err


def test_standard_input(programs):
    call = [sys.executable, "-m", "tracker", "fingerprint", "-", "a.nc"]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    ran = subprocess.run(call, input=PROGRAM, capture_output=True, check=True, env=environment)
    first, second = ran.stdout.decode().split("\n")[:2]
    assert first.removesuffix("  -") == second.removesuffix("  a.nc")


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (["fingerprint"], "no-file"),
        (["fingerprint", "--frob", "a.nc"], "unknown-option"),
        (["fingerprint", "--json=yes", "a.nc"], "unknown-option"),
        (["-C", "nowhere", "fingerprint", "a.nc"], "no-such-folder"),
        (["fingerprint", "a.nc", "-C"], "missing-value"),
    ],
)
def test_a_wrong_call(programs, capsys, words, name):
    assert entry.main(words) == 2
    assert f"[{name}]" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words", [["-C", "sub", "fingerprint", "c.nc"], ["fingerprint", "c.nc", "-C", "sub"]]
)
def test_in_another_folder(programs, capsys, words):
    (programs / "sub").mkdir()
    (programs / "sub" / "c.nc").write_bytes(PROGRAM)
    assert entry.main(words) == 0
    assert capsys.readouterr().out.endswith("  c.nc\n")


def test_names_that_look_like_options(programs, capsys):
    (programs / "--json").write_bytes(PROGRAM)
    assert entry.main(["fingerprint", "--", "--json"]) == 0
    assert capsys.readouterr().out.endswith("  --json\n")


def test_an_empty_file(programs, capsys):
    (programs / "empty.nc").write_bytes(b"")
    assert entry.main(["fingerprint", "empty.nc", "--json"]) == 0
    [file] = json.loads(capsys.readouterr().out)["files"]
    assert (file["bytes"], file["blocks"]) == (0, 0)


def test_notes_go_to_standard_error(programs, capsys):
    (programs / "open.nc").write_bytes(b"G0 X1. (OPEN\nG0 X2.\n")
    assert entry.main(["fingerprint", "open.nc"]) == 0
    out, err = capsys.readouterr()
    assert len(out.splitlines()) == 1
    assert err.startswith("open.nc: note: ")


@pytest.mark.parametrize("encoding", ["cp1252", "ascii", "utf-8"])
def test_names_the_console_cannot_hold(programs, encoding):
    (programs / "teil-→.nc").write_bytes(PROGRAM)
    call = [sys.executable, "-m", "tracker", "fingerprint", "teil-→.nc"]
    environment = {
        **os.environ,
        "PYTHONIOENCODING": encoding,
        "PYTHONPATH": str(Path(__file__).resolve().parents[2]),
    }
    ran = subprocess.run(call, capture_output=True, check=True, env=environment)
    shown = "teil-→.nc" if encoding == "utf-8" else r"teil-\u2192.nc"
    assert ran.stdout.decode(encoding).rstrip().endswith(shown)


def test_what_the_fast_lane_does_not_import(programs):
    code = (
        "import sys; from tracker.cli.entry import main; main(['fingerprint', 'a.nc']); main(['--version'])\n"
        "print(sorted({'typer', 'rich', 'git', 'argparse', 'json', 'pathlib'} & set(sys.modules)))"
    )
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, env=environment)
    assert ran.stdout.decode().splitlines()[-1] == "[]"
