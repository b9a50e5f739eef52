"""What `audit` needs from a repository beyond `Repository`: its whole history, looked at commit by commit."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol, TypeVar

from tracker.services.ports_push import PushSeen

T = TypeVar("T")


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


@dataclass(frozen=True, slots=True, kw_only=True)
class BadObject:
    """An object that is not what its name stands for; ``path`` of a file that has it, if a state leads to one."""

    object_id: str
    why: str
    path: str | None = None


class Evidence(Protocol):
    """The history of every branch and tag."""

    def bad_objects(self) -> Sequence[BadObject]:
        """Everything on the disk hashed again: what does not hold the bytes its name stands for."""

    def state(self) -> str:
        """Digest of every reference with its object id and of where the clone stands."""

    def derived_before(self, rules: str) -> AbstractSet[str]:
        """Ids of release tags an audit derived again before, under the same rules."""

    def note_derived(self, rules: str, tags: Iterable[str]) -> None:
        """Keep them for the next audit."""

    def found_before(self, state: str) -> Mapping[str, object] | None:
        """What an audit found in this very state, under the same rules."""

    def note_found(self, state: str, found: Mapping[str, object]) -> None:
        """Keep it for the next audit."""

    def commits(self) -> Sequence[CommitSeen]:
        """All commits, parents first."""

    def tips(self) -> Sequence[str]:
        """What history is read from: every branch and tag, and where the clone stands."""

    def ends(self) -> Sequence[str]:
        """The commits branches stand on, and where the clone stands."""

    def hold_all(self, tips: Sequence[str]) -> bool:
        """Whether the history of now holds all that these lead to."""

    def history(self, known: Sequence[str]) -> PushSeen:
        """All of it as a first push, without what is known already."""

    def judged_before(self, rules: str) -> Mapping[str, object] | None:
        """What an audit found of commits before, under the same rules."""

    def note_judged(self, rules: str, found: Mapping[str, object]) -> None:
        """Keep it for the next audit."""

    def merged_texts(self) -> Sequence[Touched]:
        """Every file below ``jobs`` and ``common`` that a merge left as none of its parents had it."""

    def files(self) -> Mapping[str, str]:
        """Everything in the state the clone stands on, by path -> what it is and holds, in a word."""

    def digests(self, places: Sequence[tuple[str, str]]) -> Sequence[str | None]:
        """SHA-256 of the files (commit, path) names, None where there is no such file."""

    def replaced(self) -> Sequence[str]:
        """References below ``refs/replace/``: what git shows in their stead is not what was recorded."""

    def in_processes(self, tasks: Sequence[Callable[[], T]]) -> Iterator[tuple[int, T]]:
        """What each task answers, with its place, as they are done: in processes of their own where that helps.

        Tasks only look; what one changes in memory is nowhere else seen. What one raises is raised here.
        """
