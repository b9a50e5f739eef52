"""The few things done to a medium, each small enough that a power cut leaves one known state.

`Disk` is what copying and looking are written against; `FolderDisk` does it in a real folder. Links, junctions,
devices and pipes are never opened, neither at the end of a path nor on the way.
"""

import contextlib
import errno
import hashlib
import os
import shutil
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Protocol

from tracker.services.ports_stick import Seen
from tracker.stick.reading import read_pieces, seen_at

CHUNK = 1 << 20
WRITTEN_AT_ONCE = 8 * CHUNK
DEEPEST = 40
MOST = 200_000
SYNCED_AT_ONCE = 16
READ_AT_ONCE = 4  # more makes a slow stick read here and there at once
# what operating systems keep on every stick; nothing of it ever went to a control
SYSTEM_FOLDERS = frozenset(
    ["system volume information", "$recycle.bin", ".trashes", ".spotlight-v100", ".fseventsd"]
)
_NO_SUCH_CALL = frozenset(
    [errno.EINVAL, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP, errno.EBADF, errno.EACCES, errno.EPERM]
)
_CREATE = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)
_WRITE = os.O_WRONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)


Moved = Callable[[str, str, int, int], None]
"""Is told what is being done with which path, and how many of how many bytes of it are done: now and then in a long file."""


def still(doing: str, path: str, done: int, size: int) -> None:
    """Told to nobody."""


class Disk(Protocol):
    """A folder as steps; paths relative to it with forward slashes. Everything raises OSError."""

    def look(self) -> Iterator[Seen]:
        """Everything below, folders too."""

    def at(self, path: str) -> Seen | None:
        """What lies at ``path``; None where nothing does, or a folder on the way is missing."""

    def read(self, path: str) -> bytes:
        """The bytes of a file."""

    def pieces(self, path: str) -> Iterator[bytes]:
        """The bytes of a file piece by piece; OSError at the end where it changed meanwhile."""

    def digest(self, path: str, *, forget: bool = False) -> str:
        """SHA-256 of a file, read in pieces; ``forget``: from the medium itself, as `read_back` does."""

    def room(self) -> int | None:
        """Free bytes, None where nobody knows."""

    def cluster(self) -> int | None:
        """Bytes the medium gives out at a time, None where nobody knows."""

    def make_folder(self, path: str) -> None:
        """A folder, and the ones above it."""

    def create(self, path: str, data: bytes) -> None:
        """A new file with ``data``; FileExistsError if the name is taken. On the medium only after `sync`."""

    def sync(self, paths: Sequence[str]) -> Iterator[str]:
        """The bytes of these files, on the medium once all are handed back; each path as it is done."""

    def read_back(self, paths: Sequence[str]) -> Iterator[str]:
        """SHA-256 of each of these files, in their order, from the medium itself where the system can be asked."""

    def rename(self, old: str, new: str) -> None:
        """Give a file its name; a file of that name is replaced in one step."""

    def remove(self, path: str) -> None:
        """Take a file away."""

    def remove_folder(self, path: str) -> None:
        """Take an empty folder away; OSError where it is not empty."""

    def sync_folder(self, path: str) -> None:
        """The names in a folder, on the medium where the system can be asked for it."""


class FolderDisk:
    """A real folder."""

    def __init__(self, folder: Path, moved: Moved = still) -> None:
        """Args: folder: the folder on the medium. moved: is told how far a long file is."""
        self._folder = folder
        self._device = _device_of(folder)
        self._moved = moved

    def look(self) -> Iterator[Seen]:
        """Everything below, as it comes; see the module for what is not opened. OSError at the end if it is gone by then."""
        self._same()
        for count, seen in enumerate(self._below("", 0)):
            if count >= MOST:
                yield Seen(
                    path="",
                    kind="closed",
                    why=f"more than {MOST} files and folders: the rest was not looked at",
                )
                return
            yield seen
        self._same()

    def at(self, path: str) -> Seen | None:
        """What lies at ``path``; None where nothing does."""
        parts = path.split("/")
        for number in range(1, len(parts) + 1):
            part = "/".join(parts[:number])
            try:
                seen = seen_at(part, os.lstat(self._folder / part))
            except (FileNotFoundError, NotADirectoryError):
                return None
            if seen.kind != "folder":
                return seen if seen.kind == "link" or number == len(parts) else None
        return seen

    def read(self, path: str) -> bytes:
        """The bytes of a file."""
        return b"".join(self.pieces(path))

    def pieces(self, path: str) -> Iterator[bytes]:
        """The bytes of a file piece by piece."""
        return self._told("reading", path)

    def digest(self, path: str, *, forget: bool = False) -> str:
        """SHA-256 of a file, read in pieces."""
        return self._digest("reading", path, forget=forget)

    def room(self) -> int | None:
        """Free bytes; some drivers of FAT say of every medium that it holds nothing at all, and do not know."""
        try:
            usage = shutil.disk_usage(self._folder)
        except OSError:
            return None
        return usage.free if usage.total else None

    def cluster(self) -> int | None:
        """Bytes the medium gives out at a time, as POSIX's statvfs has it; Windows has no such call."""
        try:
            return os.statvfs(self._folder).f_frsize or None
        except (AttributeError, OSError):
            return None

    def make_folder(self, path: str) -> None:
        """A folder, and the ones above it; the folder of the medium itself is never made."""
        self._same()
        made = ""
        for part in path.split("/") if path else ():
            made = f"{made}/{part}" if made else part
            try:
                os.mkdir(self._folder / made)  # noqa: PTH102 - one step, one call
            except FileExistsError:
                continue
            self.sync_folder(made.rpartition("/")[0])

    def create(self, path: str, data: bytes) -> None:
        """A new file with ``data``."""
        handle = os.open(self._folder / path, _CREATE, 0o644)
        try:
            view = memoryview(data)
            while view:
                view = view[os.write(handle, view[:WRITTEN_AT_ONCE]) :]
                if view:
                    self._moved("writing", path, len(data) - len(view), len(data))
            _set_out(handle)
        finally:
            os.close(handle)

    def sync(self, paths: Sequence[str]) -> Iterator[str]:
        """Files through to the medium, several at once: one after the other each would wait for the medium alone."""
        if many(paths):
            sync_medium(self._folder)
        yield from _side_by_side(self._sync, paths, SYNCED_AT_ONCE)

    def read_back(self, paths: Sequence[str]) -> Iterator[str]:
        """What the medium holds, not what the system remembers of what was written, where it can be told to forget."""
        yield from _side_by_side(self._read_back, paths, READ_AT_ONCE)

    def rename(self, old: str, new: str) -> None:
        """Give a file its name."""
        os.replace(self._folder / old, self._folder / new)  # noqa: PTH105 - one step, one call

    def remove(self, path: str) -> None:
        """Take a file away."""
        os.unlink(self._folder / path)  # noqa: PTH108 - one step, one call

    def remove_folder(self, path: str) -> None:
        """Take an empty folder away; the system refuses any other."""
        os.rmdir(self._folder / path)  # noqa: PTH106 - one step, one call

    def sync_folder(self, path: str) -> None:
        """Windows has no way to ask for this; FAT there writes names through."""
        self._same()
        if os.name == "nt":
            return
        handle = os.open(self._folder / path, os.O_RDONLY)
        try:
            os.fsync(handle)
        except OSError as fault:  # some file systems refuse it for folders; nothing more can be asked of them
            if fault.errno not in _NO_SUCH_CALL:
                raise
        finally:
            os.close(handle)
        self._same()

    def _same(self) -> None:
        """OSError where the medium is no longer in: the folder it was mounted at is left, and belongs to another disk.

        What was on the stick would be told as missing, and what is for it be written to the disk of the PC.
        """
        if self._device is not None and _device_of(self._folder) != self._device:
            raise OSError(errno.ENODEV, "it was taken out")

    def _sync(self, path: str) -> str:
        """Windows asks for a handle that may write."""
        handle = os.open(self._folder / path, _WRITE)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
        return path

    def _read_back(self, path: str) -> str:
        return self._digest("reading back", path, forget=True)

    def _digest(self, doing: str, path: str, *, forget: bool = False) -> str:
        digest = hashlib.sha256()
        for piece in self._told(doing, path, forget=forget):
            digest.update(piece)
        return digest.hexdigest()

    def _told(self, doing: str, path: str, *, forget: bool = False) -> Iterator[bytes]:
        """The pieces of a file; where there are several, how far they are is told."""
        size = done = 0

        def ready(handle: int) -> None:
            nonlocal size
            size = os.fstat(handle).st_size
            if forget:
                _forget(handle)

        for piece in read_pieces(self._folder, path, CHUNK, ready=ready):
            if size > CHUNK:
                self._moved(doing, path, done, size)
                done += len(piece)
            yield piece

    def _below(self, folder: str, depth: int) -> Iterator[Seen]:
        try:
            with os.scandir(self._folder / folder if folder else self._folder) as found:
                entries = sorted(found, key=lambda entry: entry.name)
        except OSError as fault:
            if not folder:
                raise
            yield Seen(path=folder, kind="closed", why=fault.strerror or "cannot be opened")
            return
        for entry in entries:
            path = f"{folder}/{entry.name}" if folder else entry.name
            try:
                seen = seen_at(path, entry.stat(follow_symlinks=False))
            except OSError as fault:
                yield Seen(path=path, kind="closed", why=fault.strerror or "cannot be looked at")
                continue
            if seen.kind == "folder" and entry.name.lower() in SYSTEM_FOLDERS:
                continue
            yield seen
            if seen.kind == "folder":
                if depth + 1 >= DEEPEST:
                    yield Seen(
                        path=path, kind="closed", why=f"more than {DEEPEST} folders deep: not looked into"
                    )
                else:
                    yield from self._below(path, depth + 1)


def _device_of(folder: Path) -> int | None:
    """Which disk a folder belongs to; None where there is no such folder."""
    try:
        return folder.stat().st_dev
    except OSError:
        return None


def many(paths: Sequence[str]) -> bool:
    """Whether so many files are sent to the medium at once, before each is asked for by itself."""
    return len(paths) > SYNCED_AT_ONCE


def sync_medium(folder: Path) -> bool:
    """Send all that waits for a medium there at once, where it is one of its own and the system has a call for it.

    File by file FAT writes its table, and the medium empties its memory, once for each. That this was done is not
    believed: every file is asked for by itself afterwards, and has next to nothing left to wait for (sync(2) of the
    Linux manual pages; older kernels tell no errors here). Returns whether there was such a call.
    """
    if not sys.platform.startswith("linux") or _device_of(folder) == _device_of(Path("/")):
        return False  # the disk of the whole system may have much to write that is none of ours
    import ctypes  # only a stick pays for it

    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return False  # said again by the first file
    try:
        return bool(ctypes.CDLL(None).syncfs(handle) == 0)
    except AttributeError:  # a C library without it
        return False
    finally:
        os.close(handle)


def _set_out(handle: int) -> None:
    """Have the system begin to write a file to the medium, and not wait for it: others are made ready meanwhile.

    Linux begins to write what it is asked to forget and may not (mm/fadvise.c, from memory); elsewhere `sync` does it
    all. Nothing rests on it.
    """
    _forget(handle)


def _forget(handle: int) -> None:
    """Drop what the system keeps of a file that is on the medium, so that reading asks the medium; Linux and the like."""
    if hasattr(os, "posix_fadvise"):
        with contextlib.suppress(OSError):  # a file system that keeps nothing has nothing to forget
            os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)


def _side_by_side(do: Callable[[str], str], paths: Sequence[str], at_once: int) -> Iterator[str]:
    """What ``do`` gives for each path, in their order; the first fault ends it, once what runs has come to its end."""
    if len(paths) < 2:
        yield from map(do, paths)
        return
    pool = ThreadPoolExecutor(min(at_once, len(paths)))
    try:
        yield from pool.map(do, paths)
    finally:
        pool.shutdown(cancel_futures=True)
