"""What `witness` needs from outside: a copy that keeps what it once saw, and a journal that is only added to."""

from collections.abc import Mapping, Sequence
from typing import Protocol


class Copy(Protocol):
    """A bare copy with references of its own."""

    def see(self) -> Mapping[str, str]:
        """Every branch and tag of the source as it is now, their objects fetched: reference -> object id.

        Raises CouldNot (``unreachable``).
        """

    def kept(self) -> Mapping[str, str]:
        """Every branch and tag as the copy keeps it."""

    def holds(self, earlier: str, later: str) -> bool:
        """Whether commit ``earlier`` is in the history of ``later``."""

    def keep(self, ref: str, new: str, old: str | None) -> None:
        """Make a reference, or move it on from ``old``."""

    def put_aside(self, ref: str, object_id: str, stamp: str) -> None:
        """Keep what was seen and not followed under a name of its own, so that it can be shown."""


class Journal(Protocol):
    """Lines of text, only ever added."""

    def lines(self) -> Sequence[bytes]:
        """Every line without its end; a last one that was cut short counts as a line."""

    def last(self) -> tuple[int, str] | None:
        """How many lines there were after the latest call, and the SHA-256 of the last; None if none is noted."""

    def add(self, line: bytes) -> None:
        """Add one line, through to the disk, and note it as the last."""
