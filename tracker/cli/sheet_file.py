"""Where a printed setup sheet goes: a file of its own, never over something that is none of ours.

Written beside its place and put there whole, so that a printer never meets half a sheet.
"""

import errno
import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

from tracker.cli.fast_files import file_error
from tracker.errors import BadCall, CouldNot

_READ = 400
"""The mark stands in the second line."""


def put_sheet(path: Path, html: str, *, mark: str, force: bool) -> None:
    """Write the sheet.

    Args:
        path: the file; an older sheet (one that opens with ``mark``) is replaced.
        html: its text.
        mark: what a sheet of ours has in its first lines.
        force: replace whatever file stands there.

    Raises:
        BadCall: ``file-exists``, ``is-a-folder``, ``no-such-folder``.
        CouldNot: ``not-written``, or what reading the file that is there raises.
    """
    _check_place(path)
    if path.exists() and not force and mark.encode("ascii") not in _head(path):
        raise BadCall(
            "file-exists",
            "there is a file of that name already, and it is none of ours",
            where=str(path),
            fix="name another file, or say --force to write over it",
        )
    put_whole(path, html.encode("utf-8"))


def check_new(path: Path, *, force: bool) -> None:
    """See that a new file may be put there, before the work for it is done; raises BadCall as `put_sheet`."""
    _check_place(path)
    if path.exists() and not force:
        raise BadCall(
            "file-exists",
            "there is a file of that name already",
            where=str(path),
            fix="name another file, or say --force to write over it",
        )


def put_new(path: Path, data: bytes, *, force: bool) -> None:
    """Write a file whole where none is, or over any with ``force``; raises as `put_sheet`."""
    check_new(path, force=force)
    put_whole(path, data)


def _check_place(path: Path) -> None:
    if path.is_dir():
        raise BadCall(
            "is-a-folder", "This is a folder, not a file.", where=str(path), fix="Name the file itself."
        )
    if not path.parent.is_dir():
        raise BadCall(
            "no-such-folder", "there is no such folder", where=str(path.parent), fix="make it first"
        )


def put_whole(path: Path, data: bytes) -> None:
    """Put a file in its place in one step; raises CouldNot (``not-written``), and then what stood there stands."""
    fresh = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        if path.is_symlink() or (path.exists() and not path.is_file()):
            path.write_bytes(data)  # what a link leads to, or a device: its name is not ours to take
            return
        with fresh.open("wb") as file:
            write_through(file, data)
        fresh.replace(path)
    except OSError as fault:
        with suppress(OSError):  # a disk that was closed meanwhile keeps it
            fresh.unlink(missing_ok=True)
        raise CouldNot(
            "not-written",
            f"the file cannot be written: {fault.strerror or fault}",
            where=str(path),
            fix="look at the permissions and the free space",
        ) from fault


def write_through(file: BinaryIO, data: bytes) -> None:
    """Write through to the medium: it may be a stick that is pulled as soon as this says it is written.

    Raises OSError; a share that knows no such thing is let be.
    """
    file.write(data)
    file.flush()
    try:
        os.fsync(file.fileno())
    except OSError as fault:
        if fault.errno not in (errno.EINVAL, errno.ENOTSUP, errno.ENOSYS):
            raise


def to_standard_output(html: str) -> None:
    """The sheet for a program behind a pipe; UTF-8 whatever the console."""
    sys.stdout.buffer.write(html.encode("utf-8"))
    sys.stdout.buffer.flush()


def _head(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(_READ)
    except OSError as fault:
        raise file_error(str(path), fault) from fault
