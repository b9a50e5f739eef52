"""What git says when it fails, in words a person can act on.

=========================== ==========================================================================
git says                    name
=========================== ==========================================================================
detected dubious ownership  ``dubious-ownership``, with git's own safe.directory line as the fix
not a git repository        ``no-repository``
Unable to create X.lock     ``locked``, with the age and owner of the lock
is at X but expected Y      ``lost-race`` (never shown: the caller tries again)
bad object, missing, ...    ``damaged``
No space left, Disk quota   ``disk-full``
failed to write new config  ``not-written``
Permission denied,          ``no-permission``
Read-only file system
anything else               ``git-failed``, with the lines git printed
=========================== ==========================================================================
"""

import time
from collections.abc import Sequence

from tracker.errors import CouldNot
from tracker.patterns import lazy_pattern

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from pathlib import Path

_LOCK = lazy_pattern(r"Unable to create '(?P<path>.+?\.lock)': File exists")
FULL = lazy_pattern(
    r"No space left on device|Out of diskspace|[Dd]isk quota exceeded|not enough space on the disk|File too large"
)
NO_LOCK = lazy_pattern(r"couldn't write '.+\.lock'")
_DAMAGED = lazy_pattern(
    r"[Bb]ad object|missing (object|blob|tree|commit)|not a tree object|failed to unpack|[Uu]nable to read|[Cc]ould not read|[Cc]ould not parse|corrupt|inflate|invalid sha1 pointer|not our ref"
    r"|loose object|object file .* is empty|bad tree|broken"
)


# a program's exit status when Ctrl-C ended it: the signal itself, what a shell makes of it, what Windows says
_BY_CTRL_C = frozenset({-2, 130, 0xC000013A})


def not_by_ctrl_c(status: int) -> int:
    """The exit status of a git of ours as it is; raises KeyboardInterrupt when Ctrl-C ended it.

    The key reaches us and git at once, but nobody says who hears of it first: a git that is gone already would look
    like one that failed.
    """
    if status in _BY_CTRL_C:
        raise KeyboardInterrupt
    return status


class GitFailedError(CouldNot):
    """A call of git that failed; ``said`` is its standard error, ``status`` its exit status."""

    def __init__(self, words: Sequence[str | bytes], status: int, said: bytes) -> None:
        self.status = status
        self.said = said.decode("utf-8", "replace").strip()
        name, what, where, fix, reasons = _explain(words, self.said)
        super().__init__(name, what, where=where, fix=fix, reasons=reasons)

    @property
    def is_lock(self) -> bool:
        """Whether another program was writing just then."""
        return self.name == "locked"

    @property
    def is_lost_race(self) -> bool:
        """Whether the reference had moved meanwhile."""
        return self.name == "lost-race"


_Explained = tuple[str, str, str | None, str | None, tuple[str, ...]]


def _explain(words: Sequence[str | bytes], said: str) -> _Explained:
    lock = _LOCK.search(said)
    if "dubious ownership" in said:
        return _dubious(said)
    if lock:
        from pathlib import Path  # the local hook has no time for it, unless something is wrong

        return describe_lock(Path(lock["path"]))
    if "but expected" in said or "reference already exists" in said:
        return "lost-race", "somebody else wrote at the same moment", None, "run it again", ()
    if "not a git repository" in said.lower():
        return no_repository(None)
    if FULL.search(said):
        fix = "make room on the disk, then run it again"
        return "disk-full", "the disk is full", None, fix, _lines(said)
    if "failed to write new configuration file" in said or NO_LOCK.search(said):  # git does not say why
        fix = "make room on the disk, or see who may write there, then run it again"
        what = "git could not write its settings, or where a branch or tag stands"
        return "not-written", what, None, fix, _lines(said)
    if "ermission denied" in said or "Read-only file system" in said:
        fix = "ask the owner of the folder for the right to read and write it"
        return "no-permission", "git has no permission here", None, fix, _lines(said)
    if _DAMAGED.search(said):
        fix = "do not work on; run `git fsck`, and fetch the missing part from another clone or the backup"
        return "damaged", "the repository is damaged", None, fix, _lines(said)
    fix = "put right what git says, then run it again"
    return "git-failed", f"git {_verb(words)}failed", None, fix, _lines(said)


def _verb(words: Sequence[str | bytes]) -> str:
    """The verb among the words of a call and a blank; a setting stands before it, behind its ``-c``."""
    before: str | bytes = ""
    for word in words:
        if isinstance(word, str) and before != "-c" and not word.startswith("-"):
            return f"{word} "
        before = word
    return ""


def no_repository(folder: str | None) -> _Explained:
    """The parts of the error for a folder outside any repository."""
    fix = "go to the shop's folder, name it with -C DIR, or make one with `proveout init DIR --name SHOP`"
    return "no-repository", "this folder is in no repository", folder, fix, ()


def describe_lock(lock: "Path") -> _Explained:
    """The parts of the error for a lock that does not go away: how old, whose; it is never deleted by us."""
    return (
        "locked",
        f"the repository is locked ({lock_facts(lock)})",
        str(lock),
        "wait for the other program; if the PC crashed and no git program is running any more, delete that file",
        (),
    )


def lock_facts(lock: "Path") -> str:
    """``12 minutes old, owner kp``, as far as it can be told."""
    try:
        seconds = max(0, int(time.time() - lock.stat().st_mtime))
    except OSError:
        return "gone by now"
    age = f"{seconds} seconds" if seconds < 120 else f"{seconds // 60} minutes"
    if seconds >= 7200:
        age = f"{seconds // 3600} hours"
    try:
        return f"{age} old, owner {lock.owner()}"
    except (OSError, KeyError, NotImplementedError):
        return f"{age} old"


def _dubious(said: str) -> _Explained:
    line = next((text.strip() for text in said.splitlines() if "--add safe.directory" in text), None)
    fix = (
        f"if you trust whoever owns that folder, run: {line}"
        if line
        else "see `git help config`, safe.directory"
    )
    return (
        "dubious-ownership",
        "git refuses this folder because somebody else owns it",
        None,
        fix,
        (),
    )


def _lines(said: str) -> tuple[str, ...]:
    return tuple(text for text in said.splitlines() if text.strip())[:12]
