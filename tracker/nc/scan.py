"""Reading programs at the speed this installation has: compiled where that is there, plain Python where it is not.

Both give the same answers, byte for byte; the plain one (`tracker.nc.canonical`, `tracker.nc.fingerprint`) is the
reference, the compiled one (`tracker.nc.scan_quick`) reads what needs no care and asks the reference for the rest.
Which one serves is settled once, when this module is imported, unless `use` says otherwise.

The quick verbs of the command line start through this module, so nothing is imported before it is needed.
"""

from __future__ import annotations

TYPE_CHECKING = False  # as in typing, which takes as long to import as a program to read
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from tracker.nc.canonical import Reading
    from tracker.nc.fingerprint import Identity
    from tracker.nc.scan_quick import Spun
    from tracker.nc.walk import OddLine

    AnyReading = Reading | Spun

try:
    from tracker.nc import scan_quick
except ImportError:  # built without a C compiler
    _COMPILED = False
else:
    _COMPILED = True

_plain = not _COMPILED


def engine() -> str:
    """Which one serves: ``compiled`` or ``plain``."""
    return "plain" if _plain else "compiled"


def use(*, plain: bool) -> None:
    """Let the plain reference serve even where the compiled scanner is there, or go back to what is there."""
    global _plain
    _plain = plain or not _COMPILED


def read(data: bytes, *, strict: bool = False) -> Reading:
    """Read a program whole: `tracker.nc.canonical.read`."""
    if not _plain:
        return scan_quick.read(data, strict=strict)
    from tracker.nc import canonical as reference

    return reference.read(data, strict=strict)


def read_both(old: bytes, new: bytes, *, strict: bool = False) -> tuple[Reading, Reading]:
    """Two programs; long ones side by side where the scanner is compiled."""
    if _plain:
        return read(old, strict=strict), read(new, strict=strict)
    return scan_quick.read_both(old, new, strict=strict)


def spun(data: bytes) -> AnyReading:
    """A reading, or something with the same fields that is quicker to import."""
    return read(data) if _plain else scan_quick.spun(data, strict=False)


def canonical(data: bytes, *, strict: bool = False) -> bytes:
    """The canonical form alone: `tracker.nc.canonical.canonical`."""
    if not _plain:
        return scan_quick.canonical(data, strict=strict)
    from tracker.nc import canonical as reference

    return reference.canonical(data, strict=strict)


def identity(data: bytes, *, strict: bool = False) -> Identity:
    """The identity of bytes at hand: `tracker.nc.fingerprint.identity`."""
    return identity_of_chunks(lambda: (data,), strict=strict)


def identity_of_chunks(open_chunks: Callable[[], Iterable[bytes]], *, strict: bool = False) -> Identity:
    """The identity of a program that is read in pieces: `tracker.nc.fingerprint.identity_of_chunks`."""
    from tracker.nc import fingerprint as reference

    if _plain:
        return reference.identity_of_chunks(open_chunks, strict=strict)
    return scan_quick.identity_of_chunks(open_chunks, strict=strict)


def identity_fields(open_chunks: Callable[[], Iterable[bytes]], *, strict: bool = False) -> dict[str, object]:
    """The same as a dictionary, in the order of the JSON document, without the cost of importing the record."""
    if not _plain:
        return scan_quick.identity_fields(open_chunks, strict=strict)
    from tracker.nc import fingerprint as reference
    from tracker.nc.scan_care import fields_of

    return fields_of(reference.identity_of_chunks(open_chunks, strict=strict))


def care_blocks(data: bytes) -> list[OddLine] | None:
    """The blocks of a word-address program that may call, name or be named: all that are not simple words.

    None where only the reference can tell; its walk gives the same blocks, and some simple ones with comments.
    """
    return None if _plain else scan_quick.care_blocks(data)


def identity_and_blocks(data: bytes, raw_sha256: str) -> tuple[Identity, list[OddLine]] | None:
    """`identity` and `care_blocks` at the cost of one of them; None where each has to be asked for by itself.

    ``raw_sha256``: of these bytes, worked out already.
    """
    if _plain:
        return None
    both = scan_quick.identity_and_blocks(data, raw_sha256)
    if both is None:
        return None
    from tracker.nc.scan_care import identity_from

    return identity_from(both[0]), both[1]


def may_call(data: bytes) -> bool:
    """Whether a program may hold a call as `tracker.nc.calls` knows it; no is sure, yes is not."""
    if _plain:
        return True
    from tracker.nc import _scanner

    answer: bool = _scanner.may_call(data)
    return answer


def is_plain(data: bytes) -> bool:
    """Whether all of a text is printable ASCII, tabs and line ends."""
    if _plain:
        from tracker.nc import ends as reference

        return reference.is_plain(data)
    from tracker.nc import _scanner

    answer: bool = _scanner.is_plain(data)
    return answer


def with_crlf(data: bytes) -> bytes:
    """A text that holds no CR with CR LF for every LF."""
    if _plain:
        from tracker.nc import ends as reference

        return reference.with_crlf(data)
    from tracker.nc import _scanner

    made: bytes = _scanner.with_crlf(data)
    return made


def same_but_ends(old: bytes, new: bytes, at: int, size: int) -> bool:
    """Whether two texts are the same lines but for a stretch of the new one: `tracker.nc.ends.same_but_ends`."""
    if _plain:
        from tracker.nc import ends as reference

        return reference.same_but_ends(old, new, at, size)
    from tracker.nc import _scanner

    answer: bool = _scanner.same_but_ends(old, new, at, size)
    return answer
