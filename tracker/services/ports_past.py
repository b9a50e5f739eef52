"""What `adopt --history` needs to see of the history that was there before anything was recorded."""

from collections.abc import Sequence
from datetime import datetime

from tracker.frozen import dataclass
from tracker.typed import Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class PastChange:
    """A file as a commit left it beside one of its parents: ``status`` A, M, D, T, or R of ``old``; ``blob`` its id."""

    status: str
    path: str
    blob: str
    old: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PastCommit:
    """A commit with what it says of itself, nothing of which is believed.

    ``authored``: None where git's date is none that can be. ``changes``: beside each parent, in their order; of a first
    commit one list, of all its files.
    """

    commit: str
    parents: tuple[str, ...]
    authored: datetime | None
    author: str
    email: str
    subject: str
    changes: tuple[tuple[PastChange, ...], ...]


class Past(Protocol):
    """The history of the branch in hand. What reads may raise CouldNot."""

    def commits(self) -> Sequence[PastCommit]:
        """All commits the branch leads to, parents first; none in an empty repository."""

    def blob_id(self, data: bytes) -> str:
        """The id git gives these bytes."""

    def places(self, commit: str | None, blob: str) -> Sequence[str]:
        """Where a state (None: the last one) holds exactly these bytes, in order."""

    def read(self, blob: str) -> bytes:
        """The bytes of a file."""
