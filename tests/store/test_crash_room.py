"""A disk that is full and a folder that may not be written, met at every write there is: a clear error, nothing half.

Where file systems may be mounted the disk is a real one in memory, filled up to its last pages or entries and given one
more after the other, until the call goes through. Everywhere, a call is told so by a stand-in at each of its writes.
"""

import errno
import os
import re
import shutil
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.fakes.floor import PROGRAM
from tests.store.killing import (
    CHECKIN,
    EDITED,
    RELEASE,
    call,
    commits_since,
    fork_call,
    is_sound,
    left_behind,
    make_shop,
    person_at_work,
    persons_work,
    prove_words,
    quick_folder,
    status_of,
    wait,
)
from tests.store.shop_repo import git, write
from tracker.store.git import Git

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no fork there")

WORK = ["A  staged.txt", "AM half.txt", "?? mine.txt"]
NOBODY = 65534
NAMED = {"disk-full", "not-written", "no-permission", "git-failed", "locked"}


@pytest.fixture(scope="module")
def made():
    with quick_folder() as place, pytest.MonkeyPatch.context() as world:
        place.chmod(0o755)
        world.setenv("HOME", str(place))
        world.setenv("GIT_CONFIG_GLOBAL", str(place / "gitconfig"))
        for who in ("AUTHOR", "COMMITTER"):
            world.setenv(f"GIT_{who}_NAME", "n")
            world.setenv(f"GIT_{who}_EMAIL", "n@shop.example")
        world.setenv("PROVEOUT_NOW", "2026-02-02T09:10:00Z")
        folder = place / "made"
        make_shop(folder)
        assert call(folder, *prove_words(folder), hour=3) == 0
        person_at_work(folder)
        yield folder


@pytest.fixture
def shop(made, tmp_path):
    with quick_folder() as place:
        place.chmod(0o755)
        yield fresh(made, place / "shop")


def fresh(made, folder):
    shutil.copytree(made, folder, symlinks=True)
    git(folder, "update-index", "-q", "--refresh", check=False)
    return folder


class Seen:
    """A shop as it was before a call that went wrong."""

    def __init__(self, folder, words):
        if words is CHECKIN:
            write(folder, PROGRAM, EDITED)
        self.folder = folder
        self.words = words
        self.work = persons_work(folder)
        self.head = git(folder, "rev-parse", "HEAD")
        self.status = sorted(status_of(folder))
        self.tags = git(folder, "tag", "--list")

    def nothing_half(self, said, *, tidy=True):
        """None of the event is there, and the error says what and how; a release may wait for its tag."""
        name = re.search(r"\[([a-z-]+)\]$", said, re.MULTILINE)
        assert name is not None, said
        assert name[1] in NAMED, said
        assert "fix: " in said
        assert "Traceback" not in said
        new = commits_since(self.folder, self.head)
        assert len(new) == (1 if new and self.words is RELEASE else 0), said
        assert git(self.folder, "tag", "--list") == self.tags
        assert persons_work(self.folder) == self.work
        if tidy:
            assert sorted(status_of(self.folder)) == self.status, said
        assert is_sound(self.folder)

    def next_run(self):
        """With room again, the same call goes through."""
        assert call(self.folder, *self.words, hour=9) == 0
        assert persons_work(self.folder) == self.work
        assert left_behind(self.folder) == []
        assert sorted(status_of(self.folder)) == sorted(WORK)
        assert len(commits_since(self.folder, self.head)) == 1
        assert is_sound(self.folder)


# -- a real file system -------------------------------------------------------------------------------------------


@contextmanager
def small_disk(place):
    """A file system of its own in memory; None where none may be mounted."""
    disk = place / "disk"
    disk.mkdir()
    words = ["mount", "-t", "tmpfs", "-o", "size=4m,nr_inodes=3000", "tmpfs", str(disk)]
    try:
        done = subprocess.run(words, capture_output=True, check=False).returncode == 0
    except OSError:
        done = False
    try:
        yield disk if done else None
    finally:
        if done:
            subprocess.run(["umount", "-l", str(disk)], check=True)


def fill_pages(disk, left):
    """Leave so many pages of room."""
    found = os.statvfs(disk)
    with (disk / "filler").open("wb") as file:
        file.write(b"\0" * (found.f_frsize * (found.f_bavail - left)))


def fill_entries(disk, left):
    """Leave room for so many new files and folders."""
    (disk / "filler").mkdir()
    for number in range(os.statvfs(disk).f_favail - left):
        (disk / "filler" / str(number)).touch()


def unfill(disk):
    filler = disk / "filler"
    shutil.rmtree(filler) if filler.is_dir() else filler.unlink()


@pytest.mark.parametrize("fill", [fill_pages, fill_entries])
@pytest.mark.parametrize("words", [CHECKIN, RELEASE], ids=["checkin", "release"])
def test_a_disk_that_gets_full_at_every_write(made, tmp_path, words, fill):
    says = tmp_path / "says"
    with quick_folder() as place, small_disk(place) as disk:
        if disk is None:
            return full_by_stand_in(made, place, words)
        failed, left = 0, 0
        while True:
            seen = Seen(fresh(made, disk / "shop"), words)
            fill(disk, left)
            status = wait(fork_call(seen.folder, words, says=says))
            if status == 0:
                unfill(disk)
                break
            assert status == 4, says.read_text()
            seen.nothing_half(says.read_text())
            unfill(disk)
            seen.next_run()
            shutil.rmtree(seen.folder)
            failed, left = failed + 1, left + 1
            assert left < 80
        print(f"{words[0]}, {fill.__name__}: {failed} calls met a full disk")
        assert failed > 7
    return None


# -- a stand-in, for every other place ----------------------------------------------------------------------------

WRITES = {"hash-object", "update-index", "read-tree", "write-tree", "commit-tree", "update-ref", "mktag"}


def fail_at(number, monkeypatch, said=b"fatal: cannot write: No space left on device\n"):
    """From the number-th write on the disk is full: writes of ours, and calls of git that write."""
    count = {"writes": 0}
    real, fsync = Git.attempt, os.fsync

    def full():
        count["writes"] += 1
        return count["writes"] >= number

    def attempt(self, *words, **more):
        if WRITES & set(words) and full():
            return 128, b"", said
        return real(self, *words, **more)

    def to_disk(handle):
        if full():
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        fsync(handle)

    monkeypatch.setattr(Git, "attempt", attempt)
    monkeypatch.setattr(os, "fsync", to_disk)
    return count


def full_by_stand_in(made, place, words):
    for number in range(1, 60):
        seen = Seen(fresh(made, place / f"shop{number}"), words)
        with pytest.MonkeyPatch.context() as world:
            fail_at(number, world)
            says = place / "says"
            status = wait(fork_call(seen.folder, words, says=says))
        if status == 0:
            break
        assert status == 4, says.read_text()
        # here the disk does not get room again by what is taken back, so that may wait for the next run
        seen.nothing_half(says.read_text(), tidy=False)
        seen.next_run()
    assert number > 6
    return number - 1


@pytest.mark.parametrize("words", [CHECKIN, RELEASE], ids=["checkin", "release"])
def test_a_stand_in_for_the_full_disk_at_every_write(made, words):
    with quick_folder() as place:
        print(f"{words[0]}: {full_by_stand_in(made, place, words)} writes of the stand-in")


# -- folders that may not be written ------------------------------------------------------------------------------

FOLDERS = [
    ".git",
    ".git/objects",
    ".git/refs/heads",
    ".git/logs",
    ".git/logs/refs/heads",
    ".git/proveout",
    "jobs/4471/records",
    "jobs/4471/records/op10",
]


CLOSED = [(CHECKIN, folder) for folder in [*FOLDERS, "everything"]]
CLOSED += [(RELEASE, folder) for folder in (".git/refs/tags", "jobs/4471/records", "everything")]


@pytest.mark.parametrize(
    ("words", "closed"), CLOSED, ids=[f"{words[0]} {folder}" for words, folder in CLOSED]
)
def test_a_folder_that_may_not_be_written(shop, tmp_path, words, closed):
    seen = Seen(shop, words)
    (shop / ".git/proveout").mkdir(exist_ok=True)
    wanted = [Path(one) for one, _, _ in os.walk(shop)] if closed == "everything" else [shop / closed]
    user = NOBODY if os.getuid() == 0 else None
    own(shop, user)
    says = tmp_path / "says"
    for folder in wanted:
        folder.chmod(0o555)
    status = wait(fork_call(shop, words, says=says, user=user))
    for folder in wanted:
        folder.chmod(0o755)
    own(shop, os.getuid())
    said = says.read_text(errors="replace")
    if status == 0:  # this call does not write there
        assert len(commits_since(shop, seen.head)) == 1
        return
    assert status == 4, said
    seen.nothing_half(said, tidy=closed != "everything")
    seen.next_run()


def own(shop, user):
    if user is not None and os.getuid() == 0:
        for folder, _, files in os.walk(shop):
            os.chown(folder, user, -1)
            for name in files:
                os.chown(Path(folder) / name, user, -1)
