"""What `audit` needs from a repository beyond `Repository`: its whole history, looked at commit by commit."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """A file a commit changed or took away (``status`` M, T or D)."""

    path: str
    status: str
    commit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CommitSeen:
    """A commit, its parents, and the committer's date it carries."""

    commit: str
    parents: tuple[str, ...]
    committed: datetime


class Evidence(Protocol):
    """The history of every branch and tag."""

    def commits(self) -> Sequence[CommitSeen]:
        """All commits, parents first."""

    def record_changes(self) -> Sequence[Touched]:
        """Every change or removal of a file below a folder for records, against any parent, parents first."""

    def merged_texts(self) -> Sequence[Touched]:
        """Every file below ``jobs`` and ``common`` that a merge left as none of its parents had it."""

    def digests(self, places: Sequence[tuple[str, str]]) -> Sequence[str | None]:
        """SHA-256 of the files (commit, path) names, None where there is no such file."""

    def replaced(self) -> Sequence[str]:
        """References below ``refs/replace/``: what git shows in their stead is not what was recorded."""
