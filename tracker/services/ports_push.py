"""What judging a push needs to see beyond the records (`tracker.services.ports.Recorded`)."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from tracker.frozen import dataclass
from tracker.policy.push import NewCommit
from tracker.records.events import AnyRecord
from tracker.records.shop import Shop
from tracker.services.ports import Recorded, TagSeen
from tracker.typed import Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class Claims:
    """What a commit says of itself; ``authored`` None where that is no date that can be."""

    author: str
    email: str
    authored: datetime | None


class PushSeen(Protocol):
    """A repository with what a push brings in sight. What reads may raise CouldNot: then nothing is taken in."""

    @property
    def recorded(self) -> Recorded:
        """The records, of the states there are and of those that come."""

    def look(self, ref: str, object_id: str) -> TagSeen:
        """What a reference would be if it pointed at this object."""

    def references(self) -> Sequence[str]:
        """The names of all references there are now."""

    def main_branch(self) -> str:
        """The reference everybody's work comes together in."""

    def commit_of(self, ref: str) -> str | None:
        """The commit a reference stands on now."""

    def new_commits(self, tips: Sequence[str]) -> Sequence[NewCommit]:
        """Commits these objects lead to, and no reference of before does; parents first."""

    def known(self) -> Sequence[str]:
        """Commits looked at before, whose history need not be looked at again; none of a push."""

    def descends(self, later: str, earlier: str) -> bool:
        """Whether a commit is another or comes after it."""

    def comparable(self, tip: str, commit: str) -> bool:
        """Whether every commit below a tip comes before or after this one."""

    def committed(self, commits: Iterable[str]) -> Mapping[str, datetime]:
        """The dates commits carry."""

    def claims(self, commit: str) -> Claims | None:
        """What a commit says of who wrote it and when; None where there is no such commit."""

    def listing(self, commit: str) -> Mapping[str, str]:
        """Path -> mode of everything a state holds, links and submodules too."""

    def sizes(self, blobs: Iterable[str]) -> Mapping[str, int]:
        """The sizes of files, in bytes, without reading them."""

    def read(self, blobs: Iterable[str]) -> Mapping[str, bytes]:
        """The bytes of files."""

    def read_short(self, blobs: Iterable[str]) -> None:
        """The short ones of these files will be asked for; nothing but time hangs on it."""

    def file(self, commit: str, path: str) -> bytes | None:
        """The bytes of a plain file of a state, None where there is none; quickest asked parents first."""

    def record(self, data: bytes, path: str) -> AnyRecord:
        """The record in these bytes; raises CouldNot (``newer-record``, ``damaged-record``) and others."""

    def shop(self, commit: str) -> Shop | None:
        """The shop.toml of a state, None where there is none; raises BadCall when it is wrong."""

    def seal(self, message: bytes, armoured: bytes, namespace: str) -> tuple[str | None, str]:
        """The line of the key that signed, or None and why the signature does not hold; raises CouldNot (``no-cryptography``)."""

    def tag_parts(self, object_id: str) -> tuple[bytes, bytes]:
        """The text of a tag object and the armoured signature behind it, empty where there is none."""

    def record_blobs(self, commit: str) -> Mapping[str, str]:
        """The ids of all records' files in a state -> where each lies."""
