"""What taking in old programs needs: folders of files to look at, wherever they lie."""

from collections.abc import Sequence
from typing import Protocol

from tracker.frozen import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class OldFile:
    """A file as it lies there.

    Attributes:
        path: from the folder, with forward slashes.
        named: as a person would name it from where he stands.
        size: bytes.
        in_repository: its path in the repository, None for one that lies outside.
    """

    path: str
    named: str
    size: int
    in_repository: str | None = None


class OldFolder(Protocol):
    """A folder of old programs; it is only read."""

    @property
    def label(self) -> str:
        """The folder as it was named."""

    def look(self) -> Sequence[OldFile]:
        """Every file in it and below, sorted; links are not followed, git's own are left out."""

    def read(self, path: str) -> bytes:
        """The bytes of a file; raises CouldNot when it cannot be read."""
