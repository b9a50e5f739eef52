"""A whole medium synced at once: an errand beside, never in the place of asking for each file."""

import errno
import os
import sys
from pathlib import Path

import pytest

from tracker.stick import disk
from tracker.stick.disk import SYNCED_AT_ONCE, FolderDisk, sync_medium

LINUX = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the call is one of Linux")


class Watched:
    """``os`` that notes which files are synced, and may fail at one of them."""

    def __init__(self, fails: str | None = None) -> None:
        self.synced: list[str] = []
        self.fails = fails

    def __getattr__(self, name: str):
        return getattr(os, name)

    def fsync(self, handle: int) -> None:
        name = Path(f"/proc/self/fd/{handle}").readlink().name
        if name == self.fails:
            raise OSError(errno.EIO, "input/output error")
        self.synced.append(name)
        os.fsync(handle)


def files(folder: Path, count: int) -> list[str]:
    names = [f"PO{number:06}.TMP" for number in range(count)]
    for name in names:
        (folder / name).write_bytes(b"G1\n")
    return names


@LINUX
@pytest.mark.parametrize("done", [True, False])
def test_every_file_is_asked_for_by_itself_whatever_the_medium_said(tmp_path, monkeypatch, done):
    asked = []
    monkeypatch.setattr(disk, "sync_medium", lambda folder: asked.append(folder) or done)
    monkeypatch.setattr(disk, "os", watched := Watched())
    names = files(tmp_path, SYNCED_AT_ONCE + 1)
    assert list(FolderDisk(tmp_path).sync(names)) == names
    assert asked == [tmp_path]
    assert sorted(watched.synced) == names


@LINUX
def test_a_file_that_cannot_be_synced_is_an_error_though_the_medium_was(tmp_path, monkeypatch):
    monkeypatch.setattr(disk, "sync_medium", lambda folder: True)
    names = files(tmp_path, SYNCED_AT_ONCE + 1)
    monkeypatch.setattr(disk, "os", Watched(fails=names[3]))
    with pytest.raises(OSError, match="input/output"):
        list(FolderDisk(tmp_path).sync(names))


def test_a_few_files_are_synced_one_by_one(tmp_path, monkeypatch):
    monkeypatch.setattr(disk, "sync_medium", lambda folder: pytest.fail("not for a few"))
    names = files(tmp_path, 3)
    assert list(FolderDisk(tmp_path).sync(names)) == names


@LINUX
def test_only_a_medium_of_its_own_is_synced_as_a_whole(tmp_path, monkeypatch):
    monkeypatch.setattr(disk, "_device_of", lambda folder: 1)
    assert not sync_medium(tmp_path)
    monkeypatch.setattr(disk, "_device_of", lambda folder: len(str(folder)))
    assert sync_medium(tmp_path)
    assert not sync_medium(tmp_path / "pulled out")
