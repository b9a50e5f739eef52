"""SHA-256 and SHA-1 of short texts without OpenSSL, which takes a good part of a short call to load.

Those built into Python give the same digests (FIPS 180-4). OpenSSL is several times as fast on long texts, so it takes
over where that pays, and serves wherever Python was built without its own.
"""

_SHORT = 1 << 16
"""Bytes up to which loading OpenSSL costs more than it spares."""

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
        self._long = None if self._size <= _SHORT else _long_sha256(data)

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
    return (_short_sha256(data) if len(data) <= _SHORT else _long_sha256(data)).hexdigest()


def sha1_of(data: bytes) -> str:
    """The SHA-1 of ``data``, by which git names objects: 40 digits, lower case."""
    if len(data) <= _SHORT:
        return _short_sha1(data, usedforsecurity=False).hexdigest()
    import hashlib

    return hashlib.sha1(data, usedforsecurity=False).hexdigest()


def _long_sha256(data: bytes) -> "_Hash":
    import hashlib

    return hashlib.sha256(data)
