"""Media found by the label they carry: what each system says of its mounts, made by hand."""

import sys
from pathlib import Path

import pytest

from tracker.errors import BadCall
from tracker.records.shop import Stick
from tracker.stick import mounted


@pytest.fixture
def linux(tmp_path: Path, monkeypatch):
    """A PC with two sticks in: one whose label udev knows, one mounted at a folder called by its label."""
    devices, labels, mounts = tmp_path / "devices", tmp_path / "by-label", tmp_path / "mounts"
    devices.mkdir()
    labels.mkdir()
    (devices / "sdb1").touch()
    (labels / "BLUE\\x201").symlink_to(devices / "sdb1")
    real = mounted.os.path.realpath
    monkeypatch.setattr(
        mounted.os.path,
        "realpath",
        lambda path: str(devices / "sdb1") if str(path) == "/dev/sdb1" else real(path),
    )
    mounts.write_text(
        "proc /proc proc rw 0 0\n/dev/sdb1 /media/shop/4F2A-11 vfat rw 0 0\n"
        "/dev/sdc1 /media/shop/RED\\0402 vfat rw 0 0\n//server/nc /mnt/GREEN-3 cifs rw 0 0\n",
        encoding="utf-8",
    )
    monkeypatch.setattr(mounted, "MOUNTS", mounts)
    monkeypatch.setattr(mounted, "LABELS", labels)
    monkeypatch.setattr(sys, "platform", "linux")
    return mounts


@pytest.mark.parametrize(
    ("label", "folder"),
    [("blue 1", "/media/shop/4F2A-11"), ("RED 2", "/media/shop/RED 2"), ("green-3", "/mnt/GREEN-3")],
)
def test_linux_by_the_label_of_the_device_or_the_name_of_the_folder(linux, label, folder):
    assert mounted.folders_labelled(label) == (Path(folder),)
    assert mounted.folder_of(Stick(name="X", owner="kp", label=label)) == folder


def test_a_stick_that_is_not_in_is_said_and_two_with_one_label_too(linux):
    with pytest.raises(BadCall) as fault:
        mounted.folder_of(Stick(name="BLUE-9", owner="kp"))
    assert (fault.value.name, fault.value.fix) == ("no-stick", "put it in, or name its folder: --to DIR")
    linux.write_text(linux.read_text() + "/dev/sdd1 /mnt/green-3 vfat rw 0 0\n")
    with pytest.raises(BadCall, match="several media carry the label GREEN-3") as fault:
        mounted.folder_of(Stick(name="GREEN-3", owner="kp"))
    assert fault.value.name == "which-stick"


def test_a_path_is_believed_as_it_stands(linux):
    assert mounted.folder_of(Stick(name="CARD", owner="kp", path="E:\\")) == "E:\\"


def test_macos_by_the_folder_below_volumes(tmp_path, monkeypatch):
    (tmp_path / "BLUE-1").mkdir()
    monkeypatch.setattr(mounted, "VOLUMES", tmp_path)
    monkeypatch.setattr(sys, "platform", "darwin")
    assert mounted.folders_labelled("blue-1") == (tmp_path / "BLUE-1",)


def test_where_nothing_can_be_asked_nothing_is_found(tmp_path, monkeypatch):
    for name in ("MOUNTS", "LABELS", "VOLUMES"):
        monkeypatch.setattr(mounted, name, tmp_path / "gone")
    for platform in ("linux", "darwin"):
        monkeypatch.setattr(sys, "platform", platform)
        assert mounted.folders_labelled("BLUE-1") == ()
