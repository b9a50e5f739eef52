"""What the use cases need from outside, as interfaces: the repository of a shop and the folder of a stick.

Paths are relative to the repository's root, with forward slashes, as text (surrogate escapes where a name is no
UTF-8). ``commit`` is a full commit id. Everything that reads may raise `CouldNot` (exit 4); what it means when a
thing is absent is said with each method.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from tracker.frozen import dataclass
from tracker.records.events import AnyRecord
from tracker.records.job import Job
from tracker.records.shop import Person, Shop
from tracker.records.stored import Found, Ledger
from tracker.services.program_facts import FactsKept
from tracker.typed import Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """Where the clone stands: ``commit`` None in an empty repository, ``branch`` None when HEAD is detached."""

    commit: str | None
    branch: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TagSeen:
    """A reference ``refs/tags/release/...`` as found: nothing about it is believed yet.

    ``kind`` is the type of the object it points at; ``target`` the commit an annotated tag names directly, or None;
    ``header_name`` the name inside the tag object, ``tagger`` the e-mail address in it; ``message`` its text; ``data`` the tag
    object, empty where there is none yet.
    """

    ref: str
    object_id: str
    kind: str
    target: str | None = None
    header_name: str | None = None
    tagger: str | None = None
    message: str = ""
    data: bytes = b""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewFile:
    """A file to add: a record (path, bytes), or a program with new bytes."""

    path: str
    data: bytes


class Tree(Protocol):
    """Files of one state: a commit, or the working folder."""

    def paths(self) -> Sequence[str]:
        """All files, sorted; of the working folder tracked and untracked alike, without git's own and ignored ones."""

    def has(self, path: str) -> bool:
        """Whether `paths` lists this file; quick where listing all of them is not."""

    def read(self, path: str) -> bytes | None:
        """The bytes of a file, or None if there is none."""

    def digest(self, path: str) -> str | None:
        """The SHA-256 of the bytes of a file, or None if there is none; quick where they were read before."""

    def job_paths(self) -> Mapping[str, str]:
        """Job folder name (lower case) -> path of its job.toml."""

    def job(self, path: str) -> Job:
        """The job.toml at ``path``; raises BadCall with file:line when it is wrong."""

    def shop(self) -> Shop:
        """shop.toml; raises BadCall when wrong, CouldNot (``no-shop``) when there is none."""

    def line_of(self, path: str, key: tuple[str | int, ...]) -> int:
        """The line (from 1) on which a TOML file here says ``key``, or what is around it; 1 for the whole file."""


class Recorded(Protocol):
    """What is recorded in a repository, and no more: all that deriving a release again rests on."""

    def tree(self, commit: str) -> Tree:
        """The files of a commit."""

    def ledger(self, commit: str) -> Ledger:
        """All records and the history: in hand = those of ``commit``, others from every ref.

        Raises CouldNot for a shallow, partial or grafted clone.
        """

    def ledger_of_job(self, commit: str, job: str) -> Ledger:
        """The same with the records of one job and those of no job only, as `tracker.policy.book.part_of` has it."""

    def release_tags(self) -> Sequence[TagSeen]:
        """Every reference below refs/tags/release/."""

    def tag_sealed(self, tag: TagSeen) -> Found:
        """The signature of a tag object."""

    def program_facts(self) -> FactsKept:
        """What is known of the texts of programs by now; what is found out is put there."""


class Repository(Recorded, Protocol):
    """A clone of a shop's repository."""

    @property
    def root(self) -> str:
        """Its folder, for people's eyes."""

    def head(self) -> Head:
        """Where it stands."""

    def tree(self, commit: str | None = None) -> Tree:
        """The files of a commit; None: of HEAD (an empty tree when there is no commit yet)."""

    def work_tree(self) -> Tree:
        """The files in the working folder."""

    def ledger(self, commit: str | None = None) -> Ledger:
        """All records and the history: in hand = those of ``commit`` (None: HEAD), others from every ref.

        Raises CouldNot for a shallow, partial or grafted clone.
        """

    def look_ahead(self, places: Iterable[tuple[str, str]]) -> None:
        """The folders and files (commit, path) names will be asked for; nothing but time hangs on it."""

    def expect(self, places: Sequence[tuple[str, str]]) -> int | None:
        """The programs (commit, path) names will be asked for, in this order; nothing but time hangs on it.

        Returns the bytes of all of them together, each place counted, or None where that is not known.
        """

    def release_numbers(self, job: str) -> Sequence[int]:
        """Release numbers of a job used anywhere: records of every ref and tags."""

    def uncommitted(self, paths: Sequence[str]) -> Sequence[str]:
        """Which of ``paths`` differ between working folder, index and HEAD (untracked ones too)."""

    def encode(self, record: AnyRecord) -> bytes:
        """The bytes of a record's file."""

    def commit(
        self,
        files: Sequence[NewFile],
        *,
        from_work_tree: Sequence[str] = (),
        removed: Sequence[str] = (),
        message: str,
        author: Person,
        at: datetime,
        expect: Head | None = None,
    ) -> str:
        """One commit on the branch in hand; returns its id.

        It holds ``files`` (written to the working folder too) and the bytes of ``from_work_tree``; nothing else the
        person staged or edited is touched.

        ``expect``: the head the decision was made on; when it moved meanwhile the commit is retried only if none of
        the paths it decided on changed, else raises Refused (``moved``). Raises Refused (``detached-head``),
        CouldNot (``locked``).
        """

    def tag(self, name: str, *, commit: str, message: str, tagger: Person, at: datetime) -> str:
        """Annotated tag ``refs/tags/<name>``; raises Refused when it exists. Returns the tag object's id."""

    def path_history(self, path: str, commit: str | None = None) -> Sequence[str]:
        """Commits that changed ``path``, newest first."""
