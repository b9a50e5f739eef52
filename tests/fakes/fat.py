"""Sticks that are real: a plain folder, and images of FAT made by mkfs.vfat.

An image is mounted where the machine lets us (by the kernel, else through FUSE); where it does not, what is written to
a folder is carried into it and back by mtools, so that names, short names and bytes still are those FAT makes.
"""

import os
import shutil
import subprocess
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest

ENVIRONMENT = {"LC_ALL": "C.UTF-8", "TZ": "UTC", "MTOOLS_SKIP_CHECK": "1"}
SIZES = {"16": "16384", "32": "40000"}  # KiB; FAT32 wants 65525 clusters at the least, of 512 bytes here


def run(*words: str | Path, check: bool = True) -> subprocess.CompletedProcess[str]:
    """An outside program, with names in UTF-8."""
    return subprocess.run(
        [str(word) for word in words],
        capture_output=True,
        encoding="utf-8",
        errors="replace",
        env={**os.environ, **ENVIRONMENT},
        check=check,
    )


class PlainStick:
    """A folder of the disk the tests run on."""

    def __init__(self, place: Path) -> None:
        self.folder = place / "BLUE-1"
        self.folder.mkdir()

    def settle(self) -> None:
        """Pulled out and put in again."""

    def close(self) -> None:
        """Done with it."""


class ImageStick(PlainStick):
    """A stick whose bytes lie in an image."""

    def __init__(self, place: Path, kind: str, find) -> None:
        super().__init__(place)
        self.image = place / "stick.img"
        self._put, self._dir, self._check = find("mcopy"), find("mdir"), find("fsck.vfat")
        run(find("mkfs.vfat"), "-C", "-F", kind, self.image, SIZES[kind])

    def listing(self, folder: str = "MILL2") -> dict[str, str]:
        """Short name by long name in a folder, as mdir shows them; the list says a long name only where it differs."""
        rows = run(self._dir, "-i", self.image, f"::{folder}").stdout.splitlines()
        found: dict[str, str] = {}
        for row in rows:
            if len(row) < 40 or row[0] in " ." or not row[9:42].strip() or "<DIR>" in row or "bytes" in row:
                continue
            short = ".".join(part for part in (row[:8].strip(), row[9:12].strip()) if part)
            found[row[42:].strip() or short] = short
        return found

    def sound(self) -> None:
        """The file system has no fault; raises where fsck.vfat, which only looks, finds one."""
        done = run(self._check, "-n", self.image, check=False)
        assert done.returncode == 0, done.stdout


class CarriedStick(ImageStick):
    """Written as a folder, carried into the image, and from there into a fresh folder."""

    def settle(self) -> None:
        """The folder as the image has it; the image is emptied first."""
        run("mdeltree", "-i", self.image, *self._tops(), check=False)
        for top in sorted(self.folder.iterdir()):
            run(self._put, "-s", "-i", self.image, top, "::")
        shutil.rmtree(self.folder)
        self.folder.mkdir()
        for top in self._tops():
            run(self._put, "-s", "-n", "-i", self.image, top, self.folder)
        self.sound()

    def _tops(self) -> Sequence[str]:
        return run(self._dir, "-b", "-i", self.image, "::").stdout.split("\n")[:-1]


class MountedStick(ImageStick):
    """The image itself, mounted."""

    def __init__(self, place: Path, kind: str, find) -> None:
        super().__init__(place, kind, find)
        self.mount(self.image)

    def settle(self) -> None:
        """Unmounted, checked, mounted again."""
        self.close()
        self.sound()
        self.mount(self.image)

    def mount(self, image: Path) -> None:
        """Raises OSError where this machine mounts no FAT. The FUSE driver is no friend of threads: one at a time."""
        for words in (("mount", "-o", "loop", "-t", "vfat"), ("fusefat", "-s", "-o", "rw+")):
            if shutil.which(words[0]) and run(*words, image, self.folder, check=False).returncode == 0:
                for _ in range(100):
                    if os.path.ismount(self.folder):
                        return
                    time.sleep(0.02)
        raise OSError("no FAT can be mounted here")

    def close(self) -> None:
        """Unmount it, and wait until everything is in the image."""
        run("umount", self.folder, check=False)
        for _ in range(200):
            if not self._served():
                return
            time.sleep(0.02)

    def _served(self) -> bool:
        """Whether a FUSE driver still holds the image."""
        wanted = str(self.image)
        for process in Path("/proc").glob("[0-9]*"):
            try:
                words = (process / "cmdline").read_bytes().split(b"\0")
            except OSError:
                continue
            if words[0].endswith(b"fusefat") and os.fsencode(wanted) in words:
                return True
        return False


KINDS = ("folder", "FAT16 carried", "FAT32 carried", "FAT16 mounted", "FAT32 mounted")


@contextmanager
def stick_of(kind: str, place: Path, find) -> Iterator[PlainStick]:
    """One of `KINDS`, closed at the end; ``find``: the fixture `outside_program`.

    Where this machine mounts no such stick, the test is skipped and says so.
    """
    makers = {"carried": CarriedStick, "mounted": MountedStick}
    name, _, way = kind.partition(" ")
    try:
        made = PlainStick(place) if not way else makers[way](place, name.removeprefix("FAT"), find)
    except OSError as fault:
        pytest.skip(str(fault))
    try:
        yield made
    finally:
        made.close()
