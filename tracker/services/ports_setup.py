"""What `install` and `doctor` need from outside: the set-up of one clone, or of one bare repository, on this PC."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from tracker.errors import CouldNot
from tracker.services.ports_backup import LastBackup
from tracker.services.ports_sign import SigningSetUp
from tracker.typed import Protocol

LOCAL_HOOK = "reference-transaction"
SERVER_HOOK = "pre-receive"

HookState = Literal["none", "ours", "old", "other"]
HookPlace = Literal["own", "tree", "elsewhere"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HookSeen:
    """A hook as it lies there.

    Attributes:
        name: as git calls it.
        path: of its file, for people's eyes.
        state: none; ours as this version writes it; ours of another version (old); somebody else's (other).
        runs: git would start it (a hook that lost its run bit is passed over in silence).
        kept: a hook that was there before is kept beside it and still runs.
    """

    name: str
    path: str
    state: HookState
    runs: bool = False
    kept: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LockSeen:
    """A lock of git that lies there: its path, how many seconds old, and that in words with its owner."""

    path: str
    seconds: float
    says: str


class SetUp(SigningSetUp, Protocol):
    """The set-up of one repository on this PC. Everything that looks may raise CouldNot."""

    @property
    def root(self) -> str:
        """Its folder, for people's eyes."""

    @property
    def bare(self) -> bool:
        """Whether it is a bare repository (a server's)."""

    def git_version(self) -> tuple[int, ...]:
        """The version of git, like (2, 39, 5)."""

    def hooks_place(self) -> tuple[HookPlace, str]:
        """Where git looks for hooks: in the repository's own git directory, in its working folder, or elsewhere."""

    def hook(self, name: str) -> HookSeen:
        """One hook."""

    def put_hook(self, name: str) -> None:
        """Write our hook; one of somebody else is kept under another name and still runs.

        Raises Refused (``hook-in-the-way``) when such a kept one lies there too, CouldNot (``not-written``).
        """

    def drop_hook(self, name: str) -> None:
        """Take our hook away and give the one that was there before its name back; never touches another."""

    def setting(self, name: str) -> str | None:
        """A setting of git in force here, or None."""

    def put_setting(self, name: str, value: str) -> None:
        """Set it for this repository alone."""

    def drop_setting(self, name: str) -> None:
        """Take this repository's own value away, if there is one."""

    def driver(self, rule_version: int) -> str:
        """The command of the diff driver as this version writes it."""

    def difftool(self) -> str:
        """The command of ``git difftool`` as this version writes it."""

    def put_driver(self) -> None:
        """Write the files that driver and difftool start, and forget what git remembers of earlier answers."""

    def drop_driver(self) -> None:
        """Take those files away again."""

    def driver_file(self) -> bool:
        """Whether those files are there as this version writes them."""

    def paths(self) -> Sequence[str]:
        """The files in the working folder: their endings tell which are programs."""

    def write_attributes(self, text: str) -> None:
        """Add these lines to the attributes only this clone has, if they are not there."""

    def attributes(self, paths: Sequence[str]) -> Sequence[tuple[str, str, str]]:
        """Per path what git makes of its attributes ``text``, ``diff`` and ``merge``."""

    def history_fault(self) -> CouldNot | None:
        """What keeps this clone from showing the whole history (shallow, partial, grafted), or None."""

    def locks(self) -> Sequence[LockSeen]:
        """Locks of git that lie there now."""

    def unfinished(self) -> int:
        """How many check-ins were killed and wait to be tidied up."""

    def last_backup(self) -> LastBackup | None:
        """The latest backup made from this clone, or None."""

    def last_share(self) -> tuple[bool, datetime | None]:
        """Whether another place holds this record (a remote), and when something was last fetched or pushed."""

    def branches(self) -> tuple[str, Sequence[str]]:
        """The branch HEAD names, empty where it names none; and those that are there."""

    def put_main_branch(self, name: str) -> None:
        """Let HEAD of a bare repository name this branch."""

    def receive_journal(self) -> tuple[int, Sequence[str]]:
        """How many pushes a server's journal holds, and where it does not agree with itself or with the references.

        Raises CouldNot (``no-journal``, ``no-permission``).
        """

    def links(self) -> Sequence[str]:
        """Links and submodules in HEAD: no files to us, and able to lead outside."""
