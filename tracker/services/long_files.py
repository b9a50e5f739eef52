"""What a long file is, read in pieces as often as that has to be, so that one of any size takes a bounded part of memory."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from hashlib import sha256

from tracker.errors import CouldNot
from tracker.services.known import Found, KnownTexts

LONGEST_LINE = 4 * 1024 * 1024
"""Bytes without a line end after which a long file is no program; one line is held whole where code is read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LongFile:
    """A file that is opened in pieces as often as it is asked for.

    Attributes:
        name: as a person knows it.
        pieces: its bytes; raises what reading raises.
        size: in bytes, as it was found.
        digest: the SHA-256 of its bytes, where there is another way to it than reading them in pieces.
    """

    name: str
    pieces: Callable[[], Iterator[bytes]]
    size: int
    digest: Callable[[], str] | None = None


def look_up(known: KnownTexts, file: LongFile) -> tuple[Found, bool]:
    """What it is; False: a line of it is too long for a program, so its code was not looked at, only its bytes.

    Raises CouldNot (``unreadable-file``) where it changed while it was read.
    """
    try:
        return known.content_of(_Steady(file)), True
    except _NoLinesError:
        return known.by_bytes_alone(file.digest() if file.digest else _digest(file.pieces())), False


def whole_bytes(file: LongFile, expected: str) -> bytes:
    """All of its bytes at once; raises CouldNot (``unreadable-file``) where they are not the ones of this SHA-256."""
    parts = list(file.pieces())
    data = b"".join(parts)
    parts.clear()
    if sha256(data).hexdigest() != expected:
        raise _another(file.name)
    return data


class _NoLinesError(Exception):
    """A line goes on for longer than that of any program: a long file without line ends is not read as one."""


class _Steady:
    """Opens a long file in pieces, as often as it is asked; a reading to the end must give the bytes of the first one.

    Its code and its hash come from readings of their own: of a file that changes between them the one would be told of
    another text than the other. Raises CouldNot (``unreadable-file``), and what reading raises.
    """

    def __init__(self, file: LongFile) -> None:
        self._file = file
        self._first: str | None = None

    def __call__(self) -> Iterator[bytes]:
        read, line = sha256(), 0
        for piece in self._file.pieces():
            read.update(piece)
            end = max(piece.rfind(b"\n"), piece.rfind(b"\r"))
            line = line + len(piece) if end < 0 else len(piece) - end - 1
            if line > LONGEST_LINE:
                raise _NoLinesError
            yield piece
        self._first = self._first or read.hexdigest()
        if read.hexdigest() != self._first:
            raise _another(self._file.name)


def _another(name: str) -> CouldNot:
    return CouldNot("unreadable-file", "it changed while it was read", where=name, fix="call it again")


def _digest(pieces: Iterator[bytes]) -> str:
    read = sha256()
    for piece in pieces:
        read.update(piece)
    return read.hexdigest()
