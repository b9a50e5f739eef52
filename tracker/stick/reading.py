"""Reading a file of a stick: inside its folder only, ordinary files only, and as one state of it.

Links, junctions, devices and pipes are never opened, neither at the end of a path nor on the way, also where somebody
puts one there between looking and opening: each folder on the way is opened by itself and without following. What
grows or changes while it is read is an error, since half of it would be another text.
"""

import os
import stat
from collections.abc import Callable, Iterator
from pathlib import Path

from tracker.services.ports_stick import Seen

_REPARSE_POINT = 0x400  # FILE_ATTRIBUTE_REPARSE_POINT: junctions and their like on Windows
_NO_LINK = getattr(os, "O_NOFOLLOW", 0)
_READ = os.O_RDONLY | getattr(os, "O_BINARY", 0) | _NO_LINK | getattr(os, "O_NONBLOCK", 0)
_FOLDER = os.O_RDONLY | getattr(os, "O_DIRECTORY", 0) | getattr(os, "O_NONBLOCK", 0)
_BY_FOLDER = os.open in os.supports_dir_fd and bool(_NO_LINK)
_UNREADABLE = (22, "no ordinary file: not opened")


def seen_at(path: str, status: os.stat_result) -> Seen:
    """What lies at ``path``, by its own status (not that of what a link leads to)."""
    if stat.S_ISLNK(status.st_mode) or getattr(status, "st_file_attributes", 0) & _REPARSE_POINT:
        return Seen(path=path, kind="link")
    if stat.S_ISDIR(status.st_mode):
        return Seen(path=path, kind="folder")
    if stat.S_ISREG(status.st_mode):
        return Seen(path=path, kind="file", size=status.st_size)
    return Seen(path=path, kind="other")


def read_pieces(
    folder: Path, path: str, size: int, *, ready: Callable[[int], None] | None = None
) -> Iterator[bytes]:
    """The bytes of the file at ``path`` below ``folder``, at most ``size`` at a time; raises OSError.

    ``ready`` is handed the open file before anything of it is read.
    """
    with open(_opened(folder, path), "rb", buffering=0) as file:
        before = os.fstat(file.fileno())
        if not stat.S_ISREG(before.st_mode):
            raise OSError(*_UNREADABLE, path)
        if ready is not None:
            ready(file.fileno())
        left = before.st_size
        while left and (piece := file.read(min(size, left))):
            left -= len(piece)
            yield piece
        if left or file.read(1) or _stamp(os.fstat(file.fileno())) != _stamp(before):
            raise OSError(5, "it changed while it was read", path)


def _stamp(status: os.stat_result) -> tuple[int, int]:
    return status.st_size, status.st_mtime_ns


def _opened(folder: Path, path: str) -> int:
    parts = path.split("/")
    if any(part in ("", ".", "..") for part in parts):
        raise OSError(22, "leads outside: not opened", path)
    if not _BY_FOLDER:
        return _opened_by_name(folder, parts, path)
    handle = os.open(folder, _FOLDER)
    try:
        for part in parts[:-1]:
            inner = _open(part, _FOLDER | _NO_LINK, handle, path)
            os.close(handle)
            handle = inner
        return _open(parts[-1], _READ, handle, path)
    finally:
        os.close(handle)


def _open(part: str, flags: int, folder: int, path: str) -> int:
    try:
        status = os.stat(part, dir_fd=folder, follow_symlinks=False)
        if not (stat.S_ISREG(status.st_mode) or stat.S_ISDIR(status.st_mode)):
            raise OSError(*_UNREADABLE, path)
        return os.open(part, flags, dir_fd=folder)
    except FileNotFoundError:
        raise FileNotFoundError(2, "no longer there", path) from None


def _opened_by_name(folder: Path, parts: list[str], path: str) -> int:
    """Where files cannot be opened from a folder (Windows): looked at part by part, then opened."""
    for number in range(1, len(parts) + 1):
        at = folder.joinpath(*parts[:number])
        try:
            seen = seen_at(path, os.lstat(at))
        except (FileNotFoundError, NotADirectoryError):
            raise FileNotFoundError(2, "no longer there", path) from None
        if seen.kind != ("file" if number == len(parts) else "folder"):
            raise OSError(*_UNREADABLE, path)
    return os.open(folder.joinpath(*parts), _READ)
