"""What `backup` needs from outside: a place on another disk that takes the whole record as one file."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class Bundle:
    """A bundle of git that was written and read back: its path, SHA-256, bytes, and how many references it holds.

    ``beside``: whether it knows of commits by branches of a shared repository alone, which a plain clone of it leaves out.
    """

    path: str
    sha256: str
    size: int
    references: int
    beside: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LastBackup:
    """The latest backup this clone knows of: when it was made and where it was put."""

    at: datetime
    path: str


class Vault(Protocol):
    """A folder that takes backups of one clone."""

    def keep(self, name: str, words: Callable[[Bundle], str]) -> Bundle:
        """Write everything into ``<name>.bundle`` and the words into ``<name>.txt``; nothing half under those names.

        The bundle is written under another name, brought through to the disk, unpacked again elsewhere and compared
        reference by reference before it gets its name.

        Raises BadCall (``no-backup-folder``, ``backup-inside``), Refused (``backup-exists``), CouldNot (``disk-full``,
        ``no-permission``, ``medium-gone``, ``nothing-recorded``, ``backup-not-whole``, ``damaged``, ``shallow``, ...).
        """

    def note(self, last: LastBackup) -> None:
        """Remember the backup on this PC, for `doctor`."""
