"""Whoever looks is told every file of a stick by its name, and how much of a long one: reading, writing, reading back."""

import hashlib
import os
from pathlib import Path
from threading import Event, Timer
from time import sleep

import pytest

from tests.fakes.disk import MemoryDisk
from tracker.services.ports_stick import ToWrite
from tracker.stick import disk
from tracker.stick.disk import CHUNK, SYNCED_AT_ONCE, WRITTEN_AT_ONCE
from tracker.stick.medium import FolderMedium, open_medium
from tracker.stick.read_behind import ReadBehind
from tracker.stick.telling import Telling

LONG = os.urandom(1 << 16) * 48  # 3,145,728 bytes


class Told(list):
    """What was told, in order."""

    def __call__(self, what: str, done: int, total: int) -> None:
        self.append((what, done, total))


def to_write(path: str, data: bytes, replaces: bytes | None = None) -> ToWrite:
    old = hashlib.sha256(replaces).hexdigest() if replaces is not None else None
    return ToWrite(path=path, data=data, sha256=hashlib.sha256(data).hexdigest(), replaces=old)


def test_each_file_that_is_looked_at_and_read_is_told_and_a_long_one_piece_by_piece(tmp_path):
    (tmp_path / "MILL2").mkdir()
    (tmp_path / "MILL2" / "LONG.NC").write_bytes(LONG)
    (tmp_path / "MILL2" / "O1.NC").write_bytes(b"M30\n")
    told = Told()
    medium = open_medium(tmp_path, told)
    medium.look()
    looked = ["MILL2", "MILL2/LONG.NC", "MILL2/O1.NC"]
    assert told == [(f"looking at {path}", 0, 0) for path in looked]
    pieces = [
        ("reading MILL2/LONG.NC", 0, 0),
        ("reading MILL2/LONG.NC, 0 of 3 MB", 0, 0),
        ("reading MILL2/LONG.NC, 1 of 3 MB", 333, 0),
        ("reading MILL2/LONG.NC, 2 of 3 MB", 666, 0),
    ]
    for read in (medium.read, medium.digest, lambda path: list(medium.pieces(path))):
        told.clear()
        read("MILL2/LONG.NC")
        read("MILL2/O1.NC")
        assert told == [*pieces, ("reading MILL2/O1.NC", 0, 0)]


def test_an_export_tells_each_file_by_the_name_it_is_to_have(tmp_path):
    told = Told()
    medium = open_medium(tmp_path, told)
    medium.stage([to_write("MILL2/O1.NC", b"G1\n"), to_write("MILL2/O2.NC", b"G2\n")]).finish()
    assert told == [
        ("writing MILL2/O1.NC", 0, 2),
        ("writing MILL2/O2.NC", 1, 2),
        ("writing through MILL2/O1.NC", 0, 2),
        ("writing through MILL2/O2.NC", 1, 2),
        ("reading back MILL2/O1.NC", 0, 2),
        ("reading back MILL2/O2.NC", 1, 2),
        ("naming MILL2/O1.NC", 0, 2),
        ("writing through the names in MILL2", 0, 0),
        ("naming MILL2/O2.NC", 1, 2),
        ("writing through the names in MILL2", 0, 0),
    ]
    told.clear()
    medium.remove("MILL2/O1.NC", hashlib.sha256(b"G1\n").hexdigest())
    assert told == [("taking off MILL2/O1.NC", 0, 0)]


def test_a_long_file_moves_while_it_is_written_and_read_back(tmp_path, monkeypatch):
    monkeypatch.setattr(disk, "WRITTEN_AT_ONCE", CHUNK)
    told = Told()
    open_medium(tmp_path, told).stage([to_write("LONG.NC", LONG)]).finish()
    assert [what for what, _, _ in told][:7] == [
        "writing LONG.NC",
        "writing LONG.NC, 1 of 3 MB",
        "writing LONG.NC, 2 of 3 MB",
        "writing through LONG.NC",
        "reading back LONG.NC",
        "reading back LONG.NC, 0 of 3 MB",
        "reading back LONG.NC, 1 of 3 MB",
    ]
    assert (tmp_path / "LONG.NC").read_bytes() == LONG
    assert WRITTEN_AT_ONCE > CHUNK  # not for every block


def test_of_many_that_are_sent_at_once_it_is_told_how_many_and_the_last():
    told, memory = Told(), MemoryDisk()
    files = [to_write(f"O{number:04}.NC", b"G%d\n" % number) for number in range(SYNCED_AT_ONCE + 1)]
    FolderMedium(memory, "BLUE-1", Telling(told)).stage(files).finish()
    through = [(what, done) for what, done, _ in told if what.startswith("writing through O")]
    first = [(what, done) for what, done, _ in told if what.startswith("writing through 17 files")]
    assert first == [("writing through 17 files, the last O0016.NC", 0)]
    assert through == [(f"writing through O{number:04}.NC", number) for number in range(1, 17)]


def test_what_is_read_back_beside_is_told_by_its_name_and_counts_nothing():
    told, memory = Told(), MemoryDisk({"PO1.TMP": b"G1\n"})
    telling = Telling(told)
    telling.call("PO1.TMP", "MILL2/O1.NC")
    behind = ReadBehind(memory, telling)
    behind.written("PO1.TMP", hashlib.sha256(b"G1\n").hexdigest(), 1 << 26)
    behind.end()
    assert behind.sound("PO1.TMP")
    assert told == [("writing through MILL2/O1.NC", 0, 0), ("reading back MILL2/O1.NC", 0, 0)]


def test_whoever_waits_for_what_goes_on_beside_is_told_what_that_is():
    told, memory, on = Told(), MemoryDisk({"PO1.TMP": b"G1\n"}), Event()
    real = memory.sync

    def sync(paths):
        assert on.wait(10)
        yield from real(paths)

    memory.sync = sync
    telling = Telling(told)
    telling.call("PO1.TMP", "MILL2/O1.NC")
    behind = ReadBehind(memory, telling)
    behind.written("PO1.TMP", hashlib.sha256(b"G1\n").hexdigest(), 1 << 26)
    while not told:
        sleep(0.001)
    telling.counted("writing", "MILL2/PROVEOUT.JSON", 1, 2)
    Timer(0.05, on.set).start()
    behind.end()
    assert told == [
        ("writing through MILL2/O1.NC", 0, 0),
        ("writing MILL2/PROVEOUT.JSON", 1, 2),
        ("writing through MILL2/O1.NC", 0, 0),
        ("reading back MILL2/O1.NC", 0, 0),
    ]


class Forgetful:
    """``os`` of a system that can be told to forget a file, and what it was told to."""

    POSIX_FADV_DONTNEED = 4

    def __init__(self, fails: bool = False) -> None:
        self.forgot: list[str] = []
        self.fails = fails

    def __getattr__(self, name: str):
        return getattr(os, name)

    def posix_fadvise(self, handle: int, start: int, length: int, advice: int) -> None:
        assert (start, length, advice, os.lseek(handle, 0, os.SEEK_CUR)) == (0, 0, 4, 0)
        self.forgot.append(Path(f"/proc/self/fd/{handle}").readlink().name)
        if self.fails:
            raise OSError(22, "invalid argument")


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="which file it is, is asked of /proc")
@pytest.mark.parametrize("fails", [False, True])
def test_what_an_export_finds_there_is_read_from_the_medium_itself(tmp_path, monkeypatch, fails):
    (tmp_path / "O1.NC").write_bytes(b"G1\n")
    monkeypatch.setattr(disk, "os", system := Forgetful(fails))
    wanted = hashlib.sha256(b"G1\n").hexdigest()
    assert open_medium(tmp_path).digest("O1.NC") == wanted
    assert system.forgot == []
    assert open_medium(tmp_path, forget=True).digest("O1.NC") == wanted
    assert system.forgot == ["O1.NC"]


class Without:
    """``os`` of a system that has no such call."""

    def __getattr__(self, name: str):
        if name == "posix_fadvise":
            raise AttributeError(name)
        return getattr(os, name)


def test_where_the_system_has_no_such_call_it_is_read_all_the_same(tmp_path, monkeypatch):
    (tmp_path / "O1.NC").write_bytes(b"G1\n")
    monkeypatch.setattr(disk, "os", Without())
    assert open_medium(tmp_path, forget=True).digest("O1.NC") == hashlib.sha256(b"G1\n").hexdigest()
