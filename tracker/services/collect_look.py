"""Looking at the files of a stick: what each one's content is, a few of them ahead of the verdicts.

What a file of up to `WHOLE` bytes says is found out from one reading of it; of bytes an export wrote, by their hash, which
for all but short files is made beforehand (`tracker.services.hashed_beside`). A longer one is read in pieces, so that a
file of any size takes a bounded part of memory, and is read whole only where it has to be compared, up to `COMPARED`
bytes. Links and devices are never opened.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from tracker.errors import CouldNot
from tracker.services.ahead import ahead
from tracker.services.known import Found, KnownTexts
from tracker.services.long_files import LongFile, look_up, whole_bytes
from tracker.services.ports_stick import Medium, Seen
from tracker.services.stick_view import Contents

WHOLE = 16 * 1024 * 1024
COMPARED = 128 * 1024 * 1024
"""Bytes of the longest file whose text is compared; what a longer one is, its code alone says."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One file as it was found.

    ``found`` None where it was not opened, or could not be read (``fault``). ``data`` its bytes, None where it was not
    read whole; `whole` reads them then. ``lines`` False: a line of it is too long for a program, so its code was not
    looked at, only its bytes.
    """

    seen: Seen
    found: Found | None = None
    data: bytes | None = None
    fault: CouldNot | None = None
    lines: bool = True


def looks(
    contents: Contents, known: KnownTexts, files: Iterable[Seen], first: Callable[[Seen], bool]
) -> Iterator[Look]:
    """A look at each of ``files`` that ``first`` does not set aside; raises CouldNot (``medium-gone``)."""
    _ = known.asks_strict  # what it takes from the repository is taken before several threads ask

    def look(seen: Seen) -> Look:
        return Look(seen=seen) if seen.kind != "file" or first(seen) else _look(contents, known, seen)

    return ahead(look, files)


def whole(medium: Medium, look: Look) -> bytes | None:
    """The bytes of a file that was looked at; None where it is too long to be compared.

    Raises CouldNot (``medium-gone``, ``unreadable-file``: it cannot be read any more, or is another one).
    """
    if look.data is not None or look.found is None or not look.lines or look.seen.size > COMPARED:
        return look.data
    return whole_bytes(_long_file(medium, look.seen), look.found.sha256)


def _long_file(medium: Medium, seen: Seen) -> LongFile:
    path = seen.path
    return LongFile(
        name=path, pieces=lambda: medium.pieces(path), size=seen.size, digest=lambda: medium.digest(path)
    )


def _long(medium: Medium, known: KnownTexts, seen: Seen) -> Look:
    found, lines = look_up(known, _long_file(medium, seen))
    return Look(seen=seen, found=found, lines=lines)


def _look(contents: Contents, known: KnownTexts, seen: Seen) -> Look:
    try:
        if seen.size > WHOLE:
            return _long(contents.medium, known, seen)
        if seen.path in contents.coming:
            written = known.as_exported(contents.digest(seen.path))
            if written is not None:
                return Look(seen=seen, found=written)
        data = contents.medium.read(seen.path)
    except CouldNot as fault:
        if fault.name != "unreadable-file":
            raise
        return Look(seen=seen, fault=fault)
    return Look(seen=seen, found=known.as_written(data) or known.content(data), data=data)
