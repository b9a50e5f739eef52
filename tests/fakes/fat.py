"""Sticks that are real: a plain folder, and images of FAT and ext4 made by mkfs.vfat and mke2fs.

An image is mounted where the machine lets us (by the kernel, else through FUSE); where it does not, what is written to
a folder is carried into it and back by mtools or debugfs, so that names, short names and bytes still are those the file
system makes.
"""

import errno
import hashlib
import os
import shutil
import struct
import subprocess
import time
from array import array
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest

ENVIRONMENT = {"LC_ALL": "C.UTF-8", "TZ": "UTC", "MTOOLS_SKIP_CHECK": "1"}
FOUR_GIB = 4 * 1024**3
IMAGE = 5 * 1024**3
CLUSTER = 64 * 512
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


FAT = (("mount", "-o", "loop", "-t", "vfat"), ("fusefat", "-s", "-o", "rw+"))
EXT4 = (("mount", "-o", "loop", "-t", "ext4"), ("fuse2fs", "-o", "rw,fakeroot"))


def mount(image: Path, folder: Path, ways: Sequence[Sequence[str]] = FAT) -> None:
    """Raises OSError where this machine mounts no such image. The FUSE drivers are no friends of threads: one at a time."""
    for words in ways:
        if shutil.which(words[0]) and run(*words, image, folder, check=False).returncode == 0:
            for _ in range(100):
                if os.path.ismount(folder):
                    return
                time.sleep(0.02)
    kind = "FAT" if ways is FAT else "ext4"
    raise OSError(f"no {kind} can be mounted here, where {folder.parent} lies on {filesystem_of(folder)}")


def filesystem_of(folder: Path) -> str:
    """The file system a folder lies on, as this machine calls it."""
    done = run("stat", "-f", "-c", "%T", folder, check=False)
    return done.stdout.strip() or "a file system nobody can tell"


def parts(image: Path) -> Iterator[tuple[int, bytes]]:
    """What an image holds, with its place; holes, which read as NULs, are left out."""
    with image.open("rb", buffering=0) as disk:
        at, end = 0, image.stat().st_size
        while at < end:
            try:
                at = os.lseek(disk.fileno(), at, os.SEEK_DATA)
            except OSError as fault:
                if fault.errno == errno.ENXIO:  # nothing but holes from here on
                    return
                raise
            hole = os.lseek(disk.fileno(), at, os.SEEK_HOLE)
            while at < hole:
                data = os.pread(disk.fileno(), min(hole - at, 1 << 20), at)
                yield at, data
                at += len(data)


def state_of(image: Path) -> str:
    """What an image holds, as a digest."""
    digest = hashlib.sha256()
    for at, data in parts(image):
        held = data.rstrip(b"\0")  # a hole that was filled with NULs is no other state
        digest.update(f"{at if held else ''} {len(held)} ".encode() + held)
    return digest.hexdigest()


def copied(image: Path, place: Path) -> Path:
    """The image once more, in a folder, with no more room than it takes itself."""
    copy = place / image.name
    with copy.open("wb") as disk:
        disk.truncate(image.stat().st_size)
        for at, data in parts(image):
            disk.seek(at)
            disk.write(data)
    return copy


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

    def repair(self, image: Path) -> None:
        """What a PC does on its own with an image whose power went."""
        run(self._check, "-a", image, check=False)


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


class Mounting:
    """An image that is mounted; beside what makes one."""

    ways: Sequence[Sequence[str]] = FAT
    folder: Path
    image: Path

    def settle(self) -> None:
        """Unmounted, checked, mounted again."""
        self.close()
        self.sound()
        self.mount(self.image)

    def mount(self, image: Path) -> None:
        """Raises OSError where this machine mounts no such image."""
        self._in = image
        mount(image, self.folder, self.ways)

    def close(self) -> None:
        """Unmount it, and wait until everything is in the image."""
        run("umount", self.folder, check=False)
        for _ in range(200):
            if not self._served():
                return
            time.sleep(0.02)

    def _served(self) -> bool:
        """Whether a FUSE driver still holds the image."""
        wanted = str(self._in)
        for process in Path("/proc").glob("[0-9]*"):
            try:
                words = (process / "cmdline").read_bytes().split(b"\0")
            except OSError:
                continue
            if words[0].endswith((b"fusefat", b"fuse2fs")) and os.fsencode(wanted) in words:
                return True
        return False


class MountedStick(Mounting, ImageStick):
    """The image itself, mounted."""

    def __init__(self, place: Path, kind: str, find) -> None:
        super().__init__(place, kind, find)
        self.mount(self.image)


class Ext4Image(PlainStick):
    """A stick whose bytes lie in an image of ext4."""

    def __init__(self, place: Path, find) -> None:
        super().__init__(place)
        self.image = place / "stick.img"
        self._make, self._check, self._read = find("mke2fs"), find("e2fsck"), find("debugfs")
        self.make()

    def make(self, *more: str | Path) -> None:
        """A fresh one."""
        run(self._make, "-q", "-F", "-t", "ext4", "-m", "0", *more, self.image, "16M")

    def sound(self) -> None:
        """The file system has no fault; raises where e2fsck, which only looks, finds one."""
        done = run(self._check, "-f", "-n", self.image, check=False)
        assert done.returncode == 0, done.stdout

    def repair(self, image: Path) -> None:
        """Its journal is played back, and what that leaves is put right without asking."""
        run(self._check, "-f", "-p", image, check=False)


class CarriedExt4(Ext4Image):
    """Written as a folder, carried into the image, and from there into a fresh folder."""

    def settle(self) -> None:
        """The folder as the image has it."""
        self.image.unlink()
        self.make("-d", self.folder)
        self.sound()
        shutil.rmtree(self.folder)
        self.folder.mkdir()
        run(self._read, "-R", f'rdump / "{self.folder}"', self.image)
        (self.folder / "lost+found").rmdir()  # else the next image would have two


class MountedExt4(Mounting, Ext4Image):
    """The image itself, mounted."""

    ways = EXT4

    def __init__(self, place: Path, find) -> None:
        super().__init__(place, find)
        self.mount(self.image)


MOUNTED = ("FAT16 mounted", "FAT32 mounted", "ext4 mounted")
KINDS = ("folder", "FAT16 carried", "FAT32 carried", "ext4 carried", *MOUNTED)


@contextmanager
def stick_of(kind: str, place: Path, find) -> Iterator[PlainStick]:
    """One of `KINDS`, closed at the end; ``find``: the fixture `outside_program`.

    Where this machine mounts no such stick, the test is skipped and says so.
    """
    makers = {"carried": CarriedStick, "mounted": MountedStick}
    ext4 = {"ext4 carried": CarriedExt4, "ext4 mounted": MountedExt4}
    name, _, way = kind.partition(" ")
    try:
        if kind in ext4:
            made = ext4[kind](place, find)
        else:
            made = PlainStick(place) if not way else makers[way](place, name.removeprefix("FAT"), find)
    except OSError as fault:
        pytest.skip(str(fault))
    try:
        yield made
    finally:
        made.close()


def large_image(place: Path, find) -> Path:
    """An empty image of FAT32 that holds a file of 4 GiB less one; it takes next to no room itself."""
    made = place / "large.img"
    with made.open("wb") as file:
        file.truncate(IMAGE)
    run(find("mkfs.vfat"), "-F", "32", "-s", "64", made)
    return made


def with_a_file(image: Path, name: bytes, size: int) -> None:
    """Put a file of NULs into the root of a fresh image of FAT32 without writing its bytes, so that it takes no room."""
    with image.open("r+b") as disk:
        boot = disk.read(512)
        (reserved,), (copies,) = struct.unpack_from("<H", boot, 14), struct.unpack_from("<B", boot, 16)
        (sectors,), (root,) = struct.unpack_from("<I", boot, 36), struct.unpack_from("<I", boot, 44)
        (info,) = struct.unpack_from("<H", boot, 48)
        first, count = root + 1, -(-size // CLUSTER)
        chain = array("I", [*range(first + 1, first + count), 0x0FFFFFFF])
        for copy in range(copies):
            disk.seek((reserved + copy * sectors) * 512 + first * 4)
            disk.write(chain.tobytes())
        disk.seek(info * 512 + 488)
        disk.write(b"\xff" * 4)
        disk.seek((reserved + copies * sectors) * 512 + (root - 2) * CLUSTER)
        entry = struct.pack("<11sB8xHHHHI", name, 0x20, first >> 16, 0, 0x5C21, first & 0xFFFF, size)
        disk.write(entry)
