import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

from tracker.cli import entry
from tracker.cli.app import run as run_app
from tracker.cli.plain_screen import PlainScreen, width_of
from tracker.cli.screen import make_console

OLD = "%\nO1001 (PLATE)\nN10 G21\nN20 T4 M6\nN30 G0 X1. S2000 M3\nN40 G1 Z-0.5 F150.\nN50 M30\n%\n"
NEW = OLD.replace("F150.", "F140.").replace("X1.", "X2.").replace("N20", "N25").replace("PLATE", "LID")
CALLS = OLD.replace("N50", "N45 M98 P2\nN50")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    for name, text in {"a.nc": OLD, "b.nc": NEW, "c.nc": CALLS, "same.nc": OLD, "umlaut ä.nc": NEW}.items():
        (tmp_path / name).write_text(text, encoding="ascii")
    (tmp_path / "sub").mkdir()
    (tmp_path / "sub" / "a.nc").write_text(NEW, encoding="ascii")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def answer(capsys, call):
    status = call()
    said = capsys.readouterr()
    return status, said.out, said.err


@pytest.mark.parametrize("options", [[], ["--json"], ["--exit-code"], ["--all"], ["--json", "--exit-code"]])
@pytest.mark.parametrize(
    "names", [("a.nc", "b.nc"), ("a.nc", "same.nc"), ("b.nc", "c.nc"), ("c.nc", "umlaut ä.nc")]
)
def test_both_lanes_give_the_same_answer(folder, capsys, names, options):
    words = ["compare", *names, *options]
    quick = answer(capsys, lambda: entry.main(words))
    assert quick == answer(capsys, lambda: run_app(words))
    assert quick[1]
    assert quick[0] == int("--exit-code" in options and "same.nc" not in names)


def test_the_options_before_the_verb_and_the_folder(folder, capsys):
    words = ["--json", "-C", "sub", "--yes", "compare", "a.nc", str(folder / "a.nc"), "--no-color"]
    status, out, _ = answer(capsys, lambda: entry.main(words))
    assert status == 0
    found = json.loads(out)
    assert found["schema"] == "proveout/compare/1"
    assert "wording" in found["kinds"]
    assert answer(capsys, lambda: run_app(words)) == (status, out, "")
    assert Path.cwd() == folder.resolve()


def test_a_file_from_standard_input(folder, capsys, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(NEW.encode())))
    status, out, _ = answer(capsys, lambda: entry.main(["compare", "a.nc", "-", "--exit-code"]))
    assert status == 1
    assert "Different code: slower, motion." in out


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        (["a.nc", "gone.nc"], 2, "missing-file"),
        (["a.nc", "sub"], 2, "is-a-folder"),
        (["a.nc"], 2, "wrong-call"),
        (["a.nc", "b.nc", "c.nc"], 2, "wrong-call"),
        (["a.nc", "b.nc", "--most"], 2, "wrong-call"),
        (["a.nc", "b.nc", "--yes"], 2, "wrong-call"),
        (["a.nc", "b.nc", "-C=sub"], 2, "wrong-call"),
    ],
)
def test_what_is_wrong_is_said_by_the_full_command_line(folder, capsys, words, status, name):
    ended, _, err = answer(capsys, lambda: entry.main(["compare", *words]))
    assert ended == status
    assert f"[{name}]" in err


def test_two_files_load_neither_the_option_parser_nor_the_records(folder):
    code = (
        "import sys; from tracker.cli.entry import main; main(['compare', 'a.nc', 'b.nc']);"
        "sys.exit(any(name.partition('.')[0] in ('typer', 'click', 'rich', 'pathlib', 'tracker.records')"
        " or name.startswith('tracker.records') for name in sys.modules))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)
    assert ran.returncode == 0, ran.stderr


def test_the_plain_screen_is_as_wide_as_the_other_one(monkeypatch, capsys):
    for columns in ("", "39", "72", "x"):
        monkeypatch.setenv("COLUMNS", columns)
        assert PlainScreen().width == make_console().width
        assert width_of(terminal=False) == (72 if columns == "72" else 100)
    assert width_of(terminal=True) == 80


def test_the_plain_screen_writes_what_a_code_page_lacks_as_a_question_mark(monkeypatch):
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="cp1252", newline="\n"))
    PlainScreen().print("ä [b]→[/b] :cat:", markup=False)
    sys.stdout.flush()
    assert raw.getvalue() == "ä [b]?[/b] :cat:\n".encode("cp1252")


def test_the_same_code_does_not_load_what_runs_programs(folder):
    code = (
        "import sys; from tracker.cli.entry import main; main(['compare', 'a.nc', 'same.nc']);"
        "sys.exit(any(name.startswith('tracker.machining') for name in sys.modules))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)
    assert ran.returncode == 0, ran.stderr
