import io
import json
import re
import sys

import pytest

from tracker.cli import entry

TEXT = "%\nO1 (PLATE)\nN10 G20 G90\nN20 T4 M6 (DRILL)\nN30 G0 X1. Y0. S2000 M3\nN40 G43 H4 Z1.\nN50 G1 Z-0.5 F15.\nN60 M30\n%\n"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    (tmp_path / "a.nc").write_bytes(TEXT.encode())
    (tmp_path / "umlaut ä.nc").write_bytes(TEXT.encode())
    monkeypatch.chdir(tmp_path)
    return tmp_path


def answer(capsys, *words):
    status = entry.main(list(words))
    said = capsys.readouterr()
    return status, said.out, said.err


@pytest.mark.parametrize("name", ["a.nc", "umlaut ä.nc"])
def test_a_file_outside_any_repository(folder, capsys, name):
    status, out, err = answer(capsys, "summary", name)
    assert (status, err) == (0, "")
    assert out.startswith(f"{name}: mill program, inch\n")
    assert "T4" in out


def test_json_of_a_file(folder, capsys):
    status, out, _ = answer(capsys, "summary", "a.nc", "--json")
    said = json.loads(out)
    assert status == 0
    assert list(said)[:3] == ["schema", "units", "tools"]
    assert said["schema"] == "proveout/summary/1"
    (tool,) = said["tools"]
    assert (tool["tool"], tool["deepest_cut"], tool["line"], tool["number"]) == ("4", -0.5, 4, "N20")
    assert (said["cutting_length"], said["cutting_minutes"], said["not_followed"]) == (1.5, 0.1, [])


def test_a_file_from_standard_input(folder, capsys, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(TEXT.encode())))
    status, out, _ = answer(capsys, "summary", "-", "--json")
    assert (status, json.loads(out)["file"]) == (0, "-")


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        (["none.nc"], 2, "missing-file"),
        (["4471"], 2, "missing-file"),
        (["."], 2, "is-a-folder"),
        (["4471@r1"], 4, "no-repository"),
        (["a.nc", "--machine", "MILL2"], 4, "no-repository"),
        ([], 2, "wrong-call"),
        (["a.nc", "--most"], 2, "wrong-call"),
    ],
)
def test_wrong_calls(folder, capsys, words, status, name):
    ended, out, err = answer(capsys, "summary", *words)
    assert (ended, out) == (status, "")
    assert f"[{name}]" in err


def test_compare_shows_the_effect(folder, capsys):
    (folder / "b.nc").write_bytes(TEXT.replace("Z-0.5", "Z-0.6").encode())
    status, out, _ = answer(capsys, "compare", "a.nc", "b.nc")
    assert status == 0
    assert "What b.nc does, lengths in inch, was -> is:" in out
    assert re.search(r"deepest cut +-0\.5 +-> -0\.6", out)
    _, out, _ = answer(capsys, "compare", "a.nc", "b.nc", "--json")
    (effect,) = json.loads(out)["effect"]
    assert list(effect) == ["file", "old", "new"]
    assert effect["file"] == "b.nc"
    assert (effect["old"]["tools"][0]["z"], effect["new"]["tools"][0]["z"]) == ([-0.5, 1.0], [-0.6, 1.0])


def test_compare_of_the_same_code_has_no_effect(folder, capsys):
    (folder / "b.nc").write_bytes(TEXT.replace("N50", "N55").encode())
    _, out, _ = answer(capsys, "compare", "a.nc", "b.nc", "--json")
    assert json.loads(out)["effect"] == []
