"""SHA-256 and SHA-1 of short texts without OpenSSL, which takes a good part of a short call to load.

Those built into Python give the same digests (FIPS 180-4). OpenSSL is quicker with any text and ten times as
quick with one of some thousand bytes, so it takes over where that pays: for a long text, after many short ones, and as
soon as anybody else has loaded it. It serves wherever Python was built without its own.
"""

import sys

_SHORT = 1 << 16
"""Bytes of one text up to which loading OpenSSL costs more than it spares."""
_MUCH = 1 << 20
"""Bytes of all texts after which it has paid: Python's own take some milliseconds for them, as loading OpenSSL does."""
_hashed = 0

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from hashlib import _Hash
    from hashlib import sha1 as _short_sha1
    from hashlib import sha256 as _short_sha256
else:
    try:
        from _sha2 import sha256 as _short_sha256
    except ImportError:
        try:
            from _sha256 import sha256 as _short_sha256  # before Python 3.12
        except ImportError:
            from hashlib import sha256 as _short_sha256
    try:
        from _sha1 import sha1 as _short_sha1
    except ImportError:
        from hashlib import sha1 as _short_sha1


class Sha256:
    """The SHA-256 of bytes that come in pieces."""

    __slots__ = ("_held", "_long", "_size")

    def __init__(self, data: bytes = b"") -> None:
        self._held = [data]
        self._size = len(data)
        self._long = _long_sha256(data) if _pays(self._size) else None

    def update(self, data: bytes) -> None:
        """Take the next piece."""
        if self._long is not None:
            self._long.update(data)
            return
        self._held.append(data)
        self._size += len(data)
        if self._size > _SHORT:
            self._long = _long_sha256(b"".join(self._held))
            self._held = []

    def hexdigest(self) -> str:
        """The digest of everything so far: 64 digits, lower case."""
        return (self._long or _short_sha256(b"".join(self._held))).hexdigest()


def sha256_of(data: bytes) -> str:
    """The SHA-256 of ``data``: 64 digits, lower case."""
    return (_long_sha256(data) if _pays(len(data)) else _short_sha256(data)).hexdigest()


def sha1_of(head: bytes, data: bytes = b"") -> str:
    """The SHA-1 of ``head`` and ``data`` behind it, by which git names objects: 40 digits, lower case."""
    if not _pays(len(head) + len(data)):
        return _short_sha1(head + data, usedforsecurity=False).hexdigest()
    import hashlib

    digest = hashlib.sha1(head, usedforsecurity=False)
    digest.update(data)
    return digest.hexdigest()


def _pays(size: int) -> bool:
    """Whether OpenSSL is to hash a text of so many bytes."""
    global _hashed  # of one process; threads that miscount change no digest
    if _hashed > _MUCH:
        return True
    _hashed += size
    return size > _SHORT or "hashlib" in sys.modules


def _long_sha256(data: bytes) -> "_Hash":
    import hashlib

    return hashlib.sha256(data)
