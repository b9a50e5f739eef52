"""What `share` and `release` need from outside: the shared repository, as one clone reaches it.

A side is a commit id. Entries are ``path -> "mode blob"``, of every file a commit holds. Everything may raise `CouldNot`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, Protocol

from tracker.policy.push import NewCommit
from tracker.records.shop import Person
from tracker.services.ports import Head, NewFile, TagSeen

Answer = Literal["accepted", "race", "refused"]
Entries = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Remote:
    """A shared repository: ``name`` as git knows it here, ``address`` where it lies, ``tracking`` below refs/remotes."""

    name: str
    address: str
    tracking: str


@dataclass(frozen=True, slots=True, kw_only=True)
class There:
    """What a shared repository held a moment ago; all of it was fetched, and no reference but the remote's was touched.

    ``branches``: name -> commit; ``tags``: reference -> object of every release tag; ``main``: its own branch in hand.
    """

    branches: Mapping[str, str]
    tags: Mapping[str, str]
    main: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LastEdit:
    """The last commit of one side that changed a file."""

    commit: str
    by: str
    at: datetime
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pushed:
    """What became of a push: accepted; a race somebody else won; or refused, with the reasons as they were given."""

    answer: Answer
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A person's choice between two edits of one file; it holds for exactly these two."""

    path: str
    side: Literal["ours", "theirs"]
    ours: str | None
    theirs: str | None
    by: str


class SharedRepository(Protocol):
    """The shared repository, seen from one clone."""

    def remote(self, name: str | None, branch: str | None) -> Remote | None:
        """The one to be used; None: there is none. Raises BadCall (``unknown-remote``)."""

    def check(self) -> None:
        """Raise what keeps this clone from sharing at all, before anything is written.

        CouldNot (``shallow``, ``partial``, ``grafted``), Refused (``unmerged``) in the middle of a merge of the person's own.
        """

    def begin(self) -> None:
        """Hold the clone for one share and finish what a killed one left; raises CouldNot (``sharing``)."""

    def end(self) -> None:
        """Let go of it."""

    def fetch(self, remote: Remote, at: datetime) -> There:
        """Fetch it all; raises CouldNot (``unreachable``, ``not-let-in``)."""

    def ahead(self, one: str | None, other: str | None) -> int:
        """How many commits ``one`` has that ``other`` has not."""

    def unsent(self, tip: str, known: Sequence[str]) -> Sequence[NewCommit]:
        """Commits ``tip`` leads to and none of ``known`` does, parents first: what a push would bring."""

    def bases(self, one: str, other: str) -> Sequence[str]:
        """The best common ancestors; none: the two have nothing in common."""

    def entries(self, commit: str | None) -> Entries:
        """Every file, link and submodule of a commit."""

    def read(self, commit: str, path: str) -> bytes | None:
        """The bytes of a file there."""

    def last_edit(self, side: str, other: str, path: str) -> LastEdit | None:
        """Who changed it last on ``side``, since the two parted."""

    def branches(self, remote: Remote | None = None) -> Mapping[str, str]:
        """Branches of this clone: name -> commit; of ``remote``: as they were when it was last fetched."""

    def tags(self) -> Mapping[str, str]:
        """Release tags of this clone: reference -> object."""

    def look(self, ref: str, object_id: str) -> TagSeen:
        """What a fetched tag is."""

    def join(
        self, ours: str, theirs: str, entries: Entries, message: str, person: Person, at: datetime
    ) -> str:
        """A commit with both parents that holds ``entries``; no reference leads to it yet."""

    def add(
        self, parent: str, entries: Entries, message: str, person: Person, authored: datetime, at: datetime
    ) -> str:
        """A commit on ``parent`` with these files of this clone more, made ``at``; no reference leads to it yet."""

    def propose(self, parent: str, file: NewFile, message: str, person: Person, at: datetime) -> str:
        """A commit on ``parent`` that adds one file and, of a record, its signature; no reference leads to it yet."""

    def tag_object(self, name: str, commit: str, message: str, person: Person, at: datetime) -> str:
        """An annotated tag no reference leads to yet."""

    def in_the_way(self, old: str | None, new: str) -> Sequence[str]:
        """Files whose edits here, staged or not, moving from ``old`` to ``new`` would write over."""

    def advance(self, head: Head, new: str, why: str, person: Person, at: datetime) -> None:
        """Move the branch, and with it exactly the files that differ; raises Refused (``in-the-way``, ``moved``)."""

    def push(self, remote: Remote, branch: str, commit: str, tags: Mapping[str, str]) -> Pushed:
        """Branch and tags (reference -> object), all or nothing, never over anything."""

    def take_tags(self, tags: Mapping[str, str]) -> None:
        """References for tags that the shared repository holds; one of another id is never replaced."""

    def choices(self) -> Sequence[Choice]:
        """What was chosen and not yet brought together."""

    def keep_choices(self, choices: Sequence[Choice]) -> None:
        """Keep them for the next call; none: forget them."""

    def last_share(self) -> datetime | None:
        """When something was last fetched from, or pushed to, a shared repository."""
