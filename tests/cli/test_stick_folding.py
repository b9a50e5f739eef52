"""Sticks whose names came back in other letters, on file systems that have one name for both and on one that has two."""

from pathlib import Path

import pytest

from tests.cli.test_stick_on_fat import (  # noqa: F401 - a fixture
    export,
    released_once,
    shop,
    verdicts,
    write_anew,
)
from tests.fakes.fat import stick_of
from tests.fakes.folding import FoldingDisk

OURS = {"o1001.nc", "o1002.nc", "proveout.json", "read-me.txt"}


@pytest.fixture(params=["folder", "stand-in", "FAT16 mounted", "FAT32 mounted"])
def stick(request, tmp_path, outside_program, monkeypatch):
    kind = request.param
    if kind == "stand-in":
        monkeypatch.setattr("tracker.stick.medium.FolderDisk", FoldingDisk)
    with stick_of("folder" if kind == "stand-in" else kind, tmp_path, outside_program) as stick:
        yield stick


def in_small_letters(shop, stick) -> Path:  # noqa: F811
    """An export into a folder somebody made, and all in it renamed, each moved out of the way first."""
    folder = stick.folder / "mill2"
    folder.mkdir()
    export(shop, stick)
    for one in list(folder.iterdir()):
        one.rename(one.with_name("X.TMP")).rename(one.with_name(one.name.lower()))
    stick.settle()
    return folder


def names(folder: Path) -> list[str]:
    return sorted(one.name.lower() for one in folder.iterdir())


def test_all_in_other_letters_is_known_and_gets_no_second_copy(shop, stick):  # noqa: F811
    folder = in_small_letters(shop, stick)
    found = verdicts(shop, stick)
    assert set(found.values()) == {"as-exported"}
    assert {file.lower() for file in found} == {"mill2/o1001.nc", "mill2/o1002.nc"}
    said = export(shop, stick)
    assert {one["action"] for one in said["files"]} == {"unchanged"}
    assert names(stick.folder) == ["mill2"]
    assert names(folder) == sorted(OURS)


def test_an_edit_in_other_letters_is_collected_first(shop, stick):  # noqa: F811
    folder = in_small_letters(shop, stick)
    edit = (folder / "o1001.nc").read_bytes().replace(b"F15.", b"F12.5")
    write_anew(folder / "o1001.nc", edit)
    stick.settle()
    for more in ((), ("--mirror",)):
        refused = export(shop, stick, *more, status=1)
        assert refused["error"]["name"] == "collect-first"
        assert (folder / "o1001.nc").read_bytes() == edit
        assert names(folder) == sorted(OURS)
    assert {verdict for file, verdict in verdicts(shop, stick, status=1).items() if "1001" in file} == {
        "changed-code"
    }


def test_somebody_elses_file_under_our_name_stays_whatever_its_letters(shop, stick):  # noqa: F811
    folder = stick.folder / "mill2"
    folder.mkdir()
    (folder / "o1001.nc").write_bytes(b"%\nO1001\nM30\n%\n")
    stick.settle()
    refused = export(shop, stick, status=1)
    assert refused["error"]["name"] == "collect-first"
    assert names(stick.folder) == ["mill2"]
    assert names(folder) == ["o1001.nc"]
    assert (folder / "o1001.nc").read_bytes() == b"%\nO1001\nM30\n%\n"


def test_a_mirror_takes_off_what_may_not_run_whatever_its_letters(shop, stick):  # noqa: F811
    folder = in_small_letters(shop, stick)
    (folder / "notes.txt").write_bytes(b"mine")
    stick.settle()
    shop.run("withdraw", "4471@1", "--by", "dg", "-m", "grip too low", "--yes")
    export(shop, stick, "--mirror", status=1)
    assert names(folder) == ["notes.txt", "proveout.json", "read-me.txt"]
    assert names(stick.folder) == ["mill2"]


def test_the_stand_in_has_one_name_for_both(tmp_path):
    disk = FoldingDisk(tmp_path)
    disk.make_folder("Mill2")
    disk.create("mILL2/O1001.NC", b"1")
    seen = disk.at("MILL2/o1001.nc")
    assert seen
    assert seen.size == 1
    with pytest.raises(FileExistsError):
        disk.create("mill2/o1001.nc", b"2")
    disk.rename("mill2/o1001.NC", "mill2/X.TMP")
    assert disk.at("mill2/o1001.nc") is None
    assert b"".join(disk.pieces("MILL2/x.tmp")) == b"1"
    assert [one.name for one in tmp_path.iterdir()] == ["Mill2"]
