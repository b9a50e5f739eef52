"""A medium that stops taking anything at a write of one's choosing, and a call made on it in a process of its own.

Every way to write below a folder is met: files opened for writing, new folders, renames, removals, syncs (all told by
the interpreter's own audit events, so no module is left out), and the calls of git that write.
"""

import errno
import os
import random
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tracker.cli.entry import main
from tracker.store.git import Git
from tracker.store.sharing_wire import Wire

FULL, CLOSED = errno.ENOSPC, errno.EROFS
GIT_SAYS = {
    FULL: b"fatal: cannot write: No space left on device\n",
    CLOSED: b"fatal: cannot write: Read-only file system\n",
}
GIT_WRITES = {"hash-object", "update-index", "read-tree", "write-tree", "commit-tree", "update-ref", "mktag"}
GIT_WRITES |= {"bundle", "init", "clone", "fetch", "push", "symbolic-ref", "config", "index-pack"}
_ONLY_READ = {"--get", "--get-all", "--get-regexp", "--list", "verify"}
_OPENED_TO_WRITE = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_NEW = os.O_CREAT | os.O_TRUNC  # writing into room a file has already needs none
_MAKES = {"os.mkdir", "os.rename", "os.link", "os.symlink"}
_CHANGES = {"os.remove", "os.rmdir", "os.chmod", "os.truncate", "os.utime"}


@dataclass(slots=True, kw_only=True)
class Medium:
    """Everything below ``top``; from the ``fails_from``-th write on each one gets the error ``number``.

    A full disk still lets itself be emptied; one that is closed takes nothing.
    """

    top: str
    number: int
    fails_from: int
    seen: list[str] = field(default_factory=list)

    def write(self, what: str) -> bool:
        """Count one write; whether it fails."""
        self.seen.append(what)
        return len(self.seen) >= self.fails_from

    def told(self, event: str, words: tuple[Any, ...]) -> None:
        """An audit hook; hooks cannot be taken out again, so this belongs into a process of its own."""
        if event == "open":
            path, flags = words[0], words[2] or 0
            if isinstance(path, int) or not flags & (_NEW if self.number == FULL else _OPENED_TO_WRITE):
                return
        elif event in _MAKES or (event in _CHANGES and self.number == CLOSED):
            path = words[1] if event == "os.rename" else words[0]
        else:
            return
        if isinstance(path, int) or path is None:
            return
        full = os.path.join(os.getcwd(), os.fsdecode(path))  # noqa: PTH109, PTH118 - nothing that opens by itself
        if full.startswith(self.top) and self.write(f"{event} {full[len(self.top) :]}"):
            raise OSError(self.number, os.strerror(self.number), full)

    def install(self) -> None:
        """From now on in this process."""
        sys.dont_write_bytecode = True
        sys.addaudithook(self.told)
        attempt, call, sync = Git.attempt, Wire.call, os.fsync

        def git(git: Git, *words: Any, **more: Any) -> Any:
            if _writes(words) and self.write(f"git {_verb(words)}"):
                return 128, b"", GIT_SAYS[self.number]
            return attempt(git, *words, **more)

        def wire(wire: Wire, *words: str, **more: Any) -> Any:
            if _writes(words) and self.write(f"git {_verb(words)}"):
                return 128, b"", GIT_SAYS[self.number].decode("ascii")
            return call(wire, *words, **more)

        def fsync(handle: int) -> None:
            if self.write("fsync"):
                raise OSError(self.number, os.strerror(self.number))
            sync(handle)

        Git.attempt, Wire.call, os.fsync = git, wire, fsync  # type: ignore[method-assign,assignment]


def _verb(words: Sequence[Any]) -> str:
    return next((str(word) for word in words if word in GIT_WRITES), "")


def _writes(words: Sequence[Any]) -> bool:
    verb = _verb(words)
    return bool(verb) and not _ONLY_READ & set(words) and not (verb == "symbolic-ref" and "--quiet" in words)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended:
    """How a call ended: exit status, what it said on both streams, and the writes it came to (or the last of them)."""

    status: int
    out: str
    err: str
    writes: tuple[str, ...]


def call_apart(words: Sequence[str], says: Path, before: Callable[[], Medium | None] = lambda: None) -> Ended:
    """The call in a fork of this process, with ``before`` done in it; ``says``: a folder for what it says."""
    sys.stdout.flush()
    sys.stderr.flush()
    process = os.fork()
    if not process:
        status = 3
        try:
            nothing = os.open(os.devnull, os.O_RDWR)
            os.dup2(nothing, 0)
            for stream, name in ((1, "out"), (2, "err")):
                os.dup2(os.open(says / name, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), stream)
            sys.stdin, sys.stdout = open(0, encoding="utf-8"), open(1, "w", encoding="utf-8")  # noqa: SIM115
            sys.stderr = open(2, "w", encoding="utf-8", errors="backslashreplace")  # noqa: SIM115
            notes = os.open(says / "writes", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            medium = before()
            status = main(list(words))
            sys.stdout.flush()
            sys.stderr.flush()
            if medium is not None:
                os.write(notes, "\n".join(medium.seen).encode("utf-8", "surrogateescape"))
        finally:
            os._exit(status)
    status = os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])
    out, err, writes = (
        (says / name).read_bytes().decode("utf-8", "replace") for name in ("out", "err", "writes")
    )
    return Ended(status=status, out=out, err=err, writes=tuple(writes.splitlines()))


def on(medium: Medium) -> Callable[[], Medium]:
    """For `call_apart`: the call is made on this medium."""

    def begin() -> Medium:
        medium.install()
        return medium

    return begin


def places(count: int, wanted: int, seed: str) -> list[int]:
    """``wanted`` of 1 to ``count``: the first, and others by chance, always the same ones for a seed."""
    if count <= wanted:
        return list(range(1, count + 1))
    return [1, *sorted(random.Random(seed).sample(range(2, count + 1), wanted - 1))]
