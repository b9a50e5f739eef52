"""The power goes, or the medium fails, at any system call of an export that writes: the real verbs, a real folder.

Every state between two calls is kept as a folder of its own, with the records as they are at that moment. From each,
``collect`` and the next ``export`` are to tell what lies there, and the export to finish the job.
"""

import errno
import json
import os
import shutil
import stat
import threading
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.fakes.boundaries import FailsFrom, WatchedOs
from tests.fakes.stick_shop import StickShop, edited, released_shop
from tracker.cli.entry import main
from tracker.cli.frame import Frame
from tracker.stick import disk
from tracker.stick.copying import LEFTOVER
from tracker.stick.disk import FolderDisk

EXPORT = ("export", "--machine", "MILL2", "--by", "ss")
SOMEBODYS = b"%\nO7777 (MINE)\nM30\n%\n"
DEEPER = ((b"Z-0.5", b"Z-0.55"),)


class Desk:
    """Whose records the verbs see."""

    def __init__(self, monkeypatch, capsys) -> None:
        self.shop = released_shop()
        self._capsys = capsys
        monkeypatch.setattr(Frame, "desk", lambda frame: self.shop.desk())

    def call(self, *words: object) -> tuple[int, dict]:
        """Exit status, and what the verb says as JSON."""
        status = main([*map(str, words), "--json"])
        out, err = self._capsys.readouterr()
        assert "Traceback" not in err
        return status, json.loads(out)


@dataclass(frozen=True)
class State:
    """What lay there after a call, and the records at that moment."""

    after: str
    stick: Path
    shop: StickShop


@pytest.fixture
def desk(monkeypatch, capsys) -> Desk:
    return Desk(monkeypatch, capsys)


@pytest.fixture
def stick(tmp_path, desk) -> Path:
    """Release 1 is on it, and something of somebody's own; release 2 changes one program."""
    folder = tmp_path / "BLUE-1"
    folder.mkdir()
    status, _ = desk.call(*EXPORT, "--to", folder)
    assert status == 0
    (folder / "MILL2" / "O7777.NC").write_bytes(SOMEBODYS)
    shop = desk.shop
    text = shop.repo.tree().read("jobs/4471/op10/O1001.nc")
    shop.save("jobs/4471/op10/O1001.nc", edited(text, *DEEPER))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.day(7)
    return folder


def programs(stick: Path) -> dict[str, bytes]:
    return {
        one.name: one.read_bytes()
        for one in (stick / "MILL2").glob("*.NC")
        if not LEFTOVER.fullmatch(one.name)
    }


def leftovers(stick: Path) -> list[str]:
    return [one.name for one in stick.rglob("*") if LEFTOVER.fullmatch(one.name)]


def states(desk: Desk, stick: Path, monkeypatch, place: Path, *words: str) -> list[State]:
    """Every state between two writing calls of an export, each once."""
    found: dict[tuple, State] = {}

    def look(what: str) -> None:
        files = tuple(sorted((str(one), one.read_bytes()) for one in stick.rglob("*") if one.is_file()))
        key = (files, len(desk.shop.repo.ledger().records))
        if key not in found:
            copy = place / str(len(found)) / stick.name
            shutil.copytree(stick, copy)
            found[key] = State(after=what, stick=copy, shop=desk.shop.copy())

    with monkeypatch.context() as world:
        world.setattr("tracker.stick.disk.os", WatchedOs(before=look, after=look))
        status, _ = desk.call(*EXPORT, *words, "--to", stick)
    assert status == 0
    return list(found.values())


@pytest.mark.parametrize("words", [(), ("--mirror",)])
def test_the_power_goes_at_any_call_that_writes(desk, stick, monkeypatch, tmp_path, words):
    before = programs(stick)
    if words:
        (stick / "MILL2" / "O7777.NC").unlink()
        del before["O7777.NC"]
        desk.shop.hold("4471/op20")
    found = states(desk, stick, monkeypatch, tmp_path / "states", *words)
    after = programs(stick)
    assert len(found) >= 12
    assert any(leftovers(state.stick) for state in found)
    for state in found:
        desk.shop = state.shop
        _whole(state, before, after)
        _collected(desk, state)
        status, said = desk.call(*EXPORT, *words, "--to", state.stick)
        left = leftovers(state.stick)
        assert status == (1 if left else 0), (state.after, said)
        assert programs(state.stick) == after, state.after
        told = " ".join(said["decisions"])
        assert all(name in told for name in left), state.after
        for name in left:  # what a person is told to do; and then nothing is left to decide
            (state.stick / "MILL2" / name).unlink()
        assert desk.call(*EXPORT, *words, "--to", state.stick)[0] == 0


def _whole(state: State, before: dict[str, bytes], after: dict[str, bytes]) -> None:
    """No program is half of one, and a list that is new speaks of what is there."""
    there = programs(state.stick)
    for name, data in there.items():
        assert data in (before.get(name), after.get(name)), (state.after, name)
    listed = json.loads((state.stick / "MILL2" / "PROVEOUT.JSON").read_text("ascii"))
    if listed["at"].startswith("2026-02-07"):
        assert {one["file"] for one in listed["files"]} <= set(there)
        assert {name: there.get(name) for name in after} == after


def _collected(desk: Desk, state: State) -> None:
    """What came home is told: old or new, cut off, not ours; never changed, damaged or forged."""
    _, said = desk.call("collect", state.stick, "--by", "ss", "--dry-run")
    verdicts = {one["file"].rpartition("/")[2]: one["verdict"] for one in said["files"]}
    mine = verdicts.pop("O7777.NC", "unknown")
    assert mine == "unknown"
    assert {verdicts.pop(name) for name in leftovers(state.stick)} <= {"incomplete"}, state.after
    assert set(verdicts.values()) <= {"as-exported", "stale", "missing", "withdrawn"}, (state.after, verdicts)


def _calls(desk: Desk, stick: Path, monkeypatch) -> int:
    """How many writing calls an export makes."""
    count = FailsFrom(0, errno.EIO, for_good=False)
    kept = desk.shop.copy()
    copy = stick.parent / "counted" / stick.name
    shutil.copytree(stick, copy)
    with monkeypatch.context() as world:
        world.setattr("tracker.stick.disk.os", WatchedOs(before=count))
        assert desk.call(*EXPORT, "--to", copy)[0] == 0
    desk.shop = kept
    return count.seen


@pytest.mark.parametrize(
    ("number", "for_good", "name"),
    [
        (errno.ENOSPC, False, "no-room"),
        (errno.EROFS, True, "read-only"),
        (errno.EIO, False, "medium-gone"),
        (errno.EIO, True, "medium-gone"),
        (errno.ENODEV, True, "medium-gone"),
        (errno.ENOENT, True, "medium-gone"),
    ],
)
def test_a_medium_that_fails_at_any_call_that_writes(
    desk, stick, monkeypatch, tmp_path, number, for_good, name
):
    before, whole = programs(stick), desk.shop
    calls = _calls(desk, stick, monkeypatch)
    assert calls > 15
    for step in range(1, calls + 1):
        desk.shop = whole.copy()
        copy = tmp_path / f"step{step}" / stick.name
        shutil.copytree(stick, copy)
        fails = FailsFrom(step, number, for_good=for_good)
        with monkeypatch.context() as world:
            world.setattr("tracker.stick.disk.os", WatchedOs(before=fails))
            status, said = desk.call(*EXPORT, "--to", copy)
        assert fails.failed
        assert (status, said["error"]["name"]) == (4, name), (step, fails.failed, said)
        assert said["error"]["fix"]
        there = programs(copy)
        assert there["O7777.NC"] == SOMEBODYS
        assert set(there) == set(before)
        if not for_good:
            assert leftovers(copy) == [], (step, fails.failed)
        for left in leftovers(copy):
            (copy / "MILL2" / left).unlink()
        status, said = desk.call(*EXPORT, "--to", copy)
        assert (status, len(said["files"])) == (0, 3), (step, said)
        assert b" R2 REL 2 MILL2)" in programs(copy)["O1001.NC"]


@pytest.mark.parametrize("number", [errno.EINVAL, errno.ENOTSUP])
def test_a_medium_that_cannot_sync_folders_takes_an_export_all_the_same(desk, stick, monkeypatch, number):
    real = os.fsync

    def fsync(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(number, "no such call")
        real(handle)

    monkeypatch.setattr("tracker.stick.disk.os.fsync", fsync)
    assert desk.call(*EXPORT, "--to", stick)[0] == 0
    assert b" R2 REL 2 MILL2)" in programs(stick)["O1001.NC"]


class _Vanishes:
    """``os`` for what reads a stick; before the ``step``-th call that opens something the stick is gone from its place."""

    def __init__(self, stick: Path, step: int) -> None:
        self.stick, self.step, self.seen = stick, step, 0
        self.one_by_one = threading.Lock()  # files are read in several threads

    def __getattr__(self, name: str):
        return getattr(os, name)

    def open(self, *words, **more) -> int:
        self._told()
        return os.open(*words, **more)

    def scandir(self, *words):
        self._told()
        return os.scandir(*words)

    def _told(self) -> None:
        with self.one_by_one:
            self.seen += 1
            if self.seen == self.step:
                self._go()

    def _go(self) -> None:
        self.stick.rename(self.stick.with_name("in a pocket"))


def _with_reading(monkeypatch, watched: _Vanishes) -> None:
    for module in ("disk", "reading"):
        monkeypatch.setattr(f"tracker.stick.{module}.os", watched)


def test_a_stick_that_is_pulled_out_at_any_call_of_a_collect(desk, stick, monkeypatch):
    """Gone as a mount that vanishes: every path below it leads nowhere. Nothing is recorded as missing or changed."""
    whole = desk.shop
    counted = _Vanishes(stick, 0)
    with monkeypatch.context() as world:
        _with_reading(world, counted)
        desk.shop = whole.copy()
        status, unhindered = desk.call("collect", stick, "--by", "ss")
    assert (status, len(unhindered["files"])) == (1, 4)  # somebody's own program is to be decided
    assert counted.seen > 10
    told = 0
    for step in range(1, counted.seen + 1):
        desk.shop = whole.copy()
        records = len(desk.shop.repo.ledger().records)
        with monkeypatch.context() as world:
            _with_reading(world, _Vanishes(stick, step))
            status, said = desk.call("collect", stick, "--by", "ss")
        stick.with_name("in a pocket").rename(stick)
        if status == 1:  # the last folder was open already, and everything was read from it
            assert said["files"] == unhindered["files"]
            continue
        told += 1
        assert (status, said["error"]["name"]) == (4, "medium-gone"), (step, said)
        assert said["error"]["fix"]
        assert len(desk.shop.repo.ledger().records) == records
    assert told >= counted.seen - 2


def test_a_stick_that_is_pulled_out_at_any_call_of_an_export(desk, stick, monkeypatch):
    """As above, at each call that writes; put in again, the next export finds all it needs."""
    whole = desk.shop
    calls = _calls(desk, stick, monkeypatch)
    pocket = stick.with_name("in a pocket")
    for step in range(1, calls + 1):
        desk.shop = whole.copy()
        place = stick.parent / f"step{step}" / stick.name
        shutil.copytree(stick, place)
        pulled = FailsFrom(step, errno.ENOENT, for_good=False)

        def pull(what: str, place: Path = place, pulled: FailsFrom = pulled) -> None:
            pulled.seen += 1
            if pulled.seen == pulled.step:
                place.rename(pocket)

        with monkeypatch.context() as world:
            world.setattr("tracker.stick.disk.os", WatchedOs(before=pull))
            status, said = desk.call(*EXPORT, "--to", place)
        pocket.rename(place)
        assert (status, said["error"]["name"]) == (4, "medium-gone"), (step, said)
        assert said["error"]["fix"]
        assert programs(place)["O7777.NC"] == SOMEBODYS
        for left in leftovers(place):
            (place / "MILL2" / left).unlink()
        assert desk.call(*EXPORT, "--to", place)[0] == 0
        assert b" R2 REL 2 MILL2)" in programs(place)["O1001.NC"]


class _OtherDisk(_Vanishes):
    """The folder it was mounted at stays when it goes, empty: it is one of the PC's own disk."""

    def _go(self) -> None:
        super()._go()
        self.stick.mkdir()


@pytest.mark.parametrize("step", [1, 2, 3, 6])
def test_the_empty_folder_a_stick_was_mounted_at_is_not_taken_for_the_stick(desk, stick, monkeypatch, step):
    gone = stick.with_name("in a pocket")
    real = disk._device_of
    monkeypatch.setattr(disk, "_device_of", lambda folder: -1 if gone.exists() else real(folder))
    records = len(desk.shop.repo.ledger().records)
    with monkeypatch.context() as world:
        _with_reading(world, _OtherDisk(stick, step))
        status, said = desk.call("collect", stick, "--by", "ss")
    assert (status, said["error"]["name"]) == (4, "medium-gone"), said
    assert len(desk.shop.repo.ledger().records) == records
    assert list(stick.iterdir()) == []


def test_nothing_is_written_to_the_folder_a_stick_was_mounted_at(desk, stick, monkeypatch):
    """Pulled out before the first folder is made."""
    whole = _files(stick)
    gone = stick.with_name("in a pocket")
    real = disk._device_of
    monkeypatch.setattr(disk, "_device_of", lambda folder: -1 if gone.exists() else real(folder))
    monkeypatch.setattr(FolderDisk, "room", lambda self: _pulled(stick, gone))
    status, said = desk.call(*EXPORT, "--to", stick)
    assert (status, said["error"]["name"]) == (4, "medium-gone"), said
    assert list(stick.iterdir()) == []
    assert _files(gone) == whole


def _pulled(stick: Path, gone: Path) -> None:
    stick.rename(gone)
    stick.mkdir()


def _files(folder: Path) -> dict[str, bytes]:
    return {str(one.relative_to(folder)): one.read_bytes() for one in folder.rglob("*") if one.is_file()}
