"""Files named on the command line: their bytes, or what a person is told instead."""

import io
import os
import stat
import sys
from collections.abc import Callable, Iterator

from tracker.errors import BadCall, CouldNot, ProveoutError

PIECE = 1 << 23
CHUNK = 1 << 20


def read_file(name: str, moved: Callable[[int, int], None] | None = None) -> bytes:
    """The bytes of a file, or of standard input for ``-``.

    ``moved``: is told now and then how many of how many bytes of a long one were read.

    Raises:
        BadCall: the file is missing, or is a folder.
        CouldNot: it could not be read.
    """
    if name == "-":
        return sys.stdin.buffer.read()
    try:
        with open(name, "rb") as file:  # noqa: PTH123 - pathlib costs more to import than this verb to run
            return file.read() if moved is None else _in_pieces(file, moved)
    except OSError as fault:
        raise file_error(name, fault) from fault


def long_file(name: str, most: int) -> int | None:
    """The bytes of a file that has more than ``most``; None for a shorter one, for what is no plain file, and for ``-``."""
    try:
        there = None if name == "-" else os.stat(name)  # noqa: PTH116 - as above
    except OSError:  # reading it says why
        return None
    return (
        there.st_size if there is not None and stat.S_ISREG(there.st_mode) and there.st_size > most else None
    )


def pieces_of(name: str, size: int, moved: Callable[[int, int], None]) -> Iterator[bytes]:
    """The bytes of a long file, a piece at a time; raises as `read_file` does."""
    read = 0
    try:
        with open(name, "rb") as file:  # noqa: PTH123 - as above
            while piece := file.read(CHUNK):
                read += len(piece)
                if read % PIECE == 0:
                    moved(read, max(size, read))
                yield piece
    except OSError as fault:
        raise file_error(name, fault) from fault


def _in_pieces(file: io.BufferedReader, moved: Callable[[int, int], None]) -> bytes:
    size, read = os.fstat(file.fileno()).st_size, io.BytesIO()
    while piece := file.read(PIECE):
        read.write(piece)
        if size > PIECE:
            moved(read.tell(), max(size, read.tell()))
    return read.getvalue()


def file_error(name: str, fault: OSError) -> ProveoutError:
    """What a person is told about a file that could not be read: a wrong call, or no way to find out."""
    if isinstance(fault, FileNotFoundError):
        return BadCall(
            "missing-file", "There is no such file.", where=name, fix="Check the name and the folder."
        )
    if _is_folder(name):
        return BadCall(
            "is-a-folder", "This is a folder, not a file.", where=name, fix="Name the file itself."
        )
    if isinstance(fault, PermissionError):
        return CouldNot(
            "no-permission",
            "You have no permission to read this file.",
            where=name,
            fix="Ask its owner for the right to read it.",
        )
    return CouldNot(
        "not-readable",
        f"The file could not be read: {fault.strerror or fault}.",
        where=name,
        fix="Check that the medium is still there and whole.",
    )


def _is_folder(name: str) -> bool:
    from pathlib import Path  # not named above: only a call that went wrong pays for it

    return Path(name).is_dir()
