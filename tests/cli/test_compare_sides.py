"""Releases, and what two machines are to run, set side by side on the sample shop."""

import json
import shutil

import pytest

from tracker.cli.entry import main

NOW = "2026-03-20T13:00:00Z"


@pytest.fixture
def said(threepenny_once, capsys, monkeypatch):
    """What ``compare`` answers in the sample shop, which it does not change."""
    monkeypatch.setenv("PROVEOUT_NOW", NOW)
    monkeypatch.setenv("COLUMNS", "80")

    def ask(*words, status=0):
        capsys.readouterr()
        ended = main(["-C", str(threepenny_once), "compare", *words])
        out, err = capsys.readouterr()
        assert ended == status, err
        return out + err

    return ask


def sides(answer, kind):
    """Of each change of a kind: file, tool, the text that was and the text that is."""
    return [
        (c["file"], c["tool"], (c["old"] or {}).get("text"), (c["new"] or {}).get("text"))
        for c in answer["changes"]
        if c["kind"] == kind
    ]


def test_two_releases_operation_by_operation(said):
    answer = json.loads(said("4471@1", "4471@2", "--json", "--exit-code", status=1))
    assert list(answer) == ["schema", "same_code", "kinds", "changes", "effect"]
    assert answer["kinds"] == ["motion", "slower"]
    assert sides(answer, "motion") == [
        (
            "op10/O1001.nc",
            "5",
            "N650 G98 G83 X2. Y2.25 Z-0.81 R0.1 Q0.1 F16.",
            "N650 G98 G83 X2. Y2.25 Z-0.85 R0.1 Q0.1 F16.",
        )
    ]
    assert [one["file"] for one in answer["effect"]] == ["op10/O1001.nc"]


def test_a_release_is_itself(said):
    assert "identical to the last byte" in said("4471@2", "4471@2", "--exit-code")


def test_a_tool_has_its_name_from_the_sheet(said):
    assert "  T5  NO. 7 DRILL 0.201\n" in said("4471/op10@r4", "4471/op10@r5")


def test_what_two_machines_are_to_run(said):
    answer = json.loads(said("4471@MILL2", "4471@MILL3", "--json"))
    assert {c["kind"] for c in answer["changes"]} == {"precall", "program-removed"}
    assert {c["file"] for c in answer["changes"]} == {"op10/O1001.nc", "op20/O1003.nc", "op20/O1002.nc"}
    text = said("4471@mill2", "4471@MILL3")
    assert "4471@MILL3 holds no op20" in text
    assert "note: on MILL2: 4471/op10 r5 (release 2)" in text
    assert "note: on MILL3: 4471/op10-m3 r1 (the newest; no released one may run there)" in text


def test_one_operation_for_a_machine_beside_a_revision(said):
    answer = json.loads(said("4471/op10@MILL2", "4471/op10-m3@r1", "--json"))
    assert answer["kinds"] == ["precall"]
    assert {c["file"] for c in answer["changes"]} == {"O1001.nc"}
    assert json.loads(said("4471@2", "4471/op10@r5", "--json"))["same_code"] is True


def test_a_release_and_a_file_off_the_control(said, threepenny_once, tmp_path):
    program = tmp_path / "O1003.NC"
    shutil.copy(threepenny_once / "jobs/4471/op20/O1003.nc", program)
    answer = json.loads(said("4471@2", str(program), "--json", "--exit-code"))
    assert answer["same_code"] is True
    assert json.loads(said(str(program), "4471@2", "--json"))["same_code"] is True
    stranger = tmp_path / "stranger.nc"
    shutil.copy(program, stranger)
    assert "[which-operation]" in said("4471@2", str(stranger), status=2)


@pytest.mark.parametrize(
    ("words", "name", "fix"),
    [
        (("4471@7", "4471@1"), "unknown-release", "4471@1, 4471@2"),
        (("4472@1", "4471@1"), "unknown-release", "never released"),
        (("4471@LATHE1", "4471@1"), "not-for-machine", "job.toml"),
        (("4470@MILL2", "4471@1"), "unknown-job", "4471"),
        (("4471/op11@MILL2", "4471@1"), "unknown-operation", "op10"),
        (("4471@MILL9", "4471@1"), "bad-name", "4471/op10@r4"),
        (("4471@2", "4471/op10-m3@r1"), "which-operation", "4471/op10@r5"),
    ],
)
def test_what_cannot_be_compared(said, words, name, fix):
    text = said(*words, status=2)
    assert f"[{name}]" in text
    assert fix in text


def test_the_screen_decides_and_unified_overrides(said, monkeypatch):
    monkeypatch.setenv("COLUMNS", "160")
    wide = said("4471/op10@r4", "4471/op10@r5")
    assert "was: 4471/op10@r4" in wide
    (line,) = [line for line in wide.splitlines() if "Z-0.81 R0.1" in line]
    assert "Z-0.85 R0.1" in line
    assert max(map(len, wide.splitlines())) <= 160
    narrow = said("4471/op10@r4", "4471/op10@r5", "--unified")
    assert "    motion         was  N650 G98 G83 X2. Y2.25 Z-0.81 R0.1 Q0.1 F16.   (line 75)" in narrow
    monkeypatch.setenv("COLUMNS", "80")
    assert said("4471/op10@r4", "4471/op10@r5") == narrow
