"""The index of the person at work, and the throw-away index a commit is built from."""

import random
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from tracker import frozen
from tracker.errors import Refused
from tracker.store.git import Git, path_bytes, path_text
from tracker.store.git_faults import GitFailedError
from tracker.store.tree import Entry
from tracker.typed import TypeVar

# evidence must be on the disk before the reference says so (git 2.36 and newer; older ones ignore the setting)
DURABLE = ("-c", "core.fsync=all")
PATIENCE_SECONDS = 8.0
_FEW = 60
T = TypeVar("T")


def index_entries(git: Git, paths: Sequence[str], *, unmerged: bool = False) -> dict[str, Entry]:
    """What is staged under these paths; raises Refused (``unmerged``) in the middle of a merge of one of them.

    ``unmerged``: such a path is left out instead, for who only looks.
    """
    few = [path_bytes(path) for path in paths] if len(paths) <= _FEW else []
    out = git.run("--literal-pathspecs", "ls-files", "-s", "-z", "--full-name", "--", *few)
    wanted = set(paths)
    found: dict[str, Entry] = {}
    for row in out.split(b"\0"):
        head, _, raw = row.partition(b"\t")
        path = path_text(raw)
        if path not in wanted:
            continue
        mode, blob, stage = head.decode("ascii").split()
        if stage != "0" and unmerged:
            continue
        if stage != "0":
            raise Refused(
                "unmerged",
                "two edits of this file are being brought together",
                where=path,
                fix="finish that first: put the file right, then `git add` it",
            )
        found[path] = Entry(mode, blob)
    return found


def stage(git: Git, entries: Mapping[str, Entry | None], *, index: Path | None = None) -> None:
    """Put these entries into an index (None: take the path out), waiting for a lock to go away.

    ``index`` is the file of another index than the person's. Only the index is written, never a file, and entries of
    other paths stay as they are. git comes to its end whatever becomes of us: its lock would stay behind.
    """
    rows = b"".join(_row(git, path, entry) for path, entry in entries.items())
    env = {"GIT_INDEX_FILE": str(index)} if index else {}
    lasting = frozen.replace(git, lasting=True)
    patiently(lambda: lasting.run(*DURABLE, "update-index", "-z", "--index-info", stdin=rows, env=env))


def build_tree(git: Git, index: Path, base: str | None, entries: Mapping[str, Entry | None]) -> str:
    """Write the tree of commit ``base`` with these entries put in or taken out; returns its id.

    ``index`` is the file the throw-away index may be for that moment; its owner takes it away.
    """
    env = {"GIT_INDEX_FILE": str(index)}
    index.unlink(missing_ok=True)
    if base:
        frozen.replace(git, lasting=True).run("read-tree", base, env=env)
    stage(git, entries, index=index)
    return git.run(*DURABLE, "write-tree", env=env).decode("ascii").strip()


def patiently(act: Callable[[], T]) -> T:
    """Do what may meet another program's lock, again and again for some seconds; then CouldNot (``locked``)."""
    end = time.monotonic() + PATIENCE_SECONDS
    while True:
        try:
            return act()
        except GitFailedError as fault:
            if not fault.is_lock or time.monotonic() > end:
                raise
        pause()


def pause() -> None:
    """Wait a moment of no fixed length, so that two who met do not meet again."""
    time.sleep(random.uniform(0.005, 0.06))  # noqa: S311 - no secret hangs on it


def _row(git: Git, path: str, entry: Entry | None) -> bytes:
    head = f"{entry.mode} {entry.blob}" if entry else f"0 {git.zero}"
    return head.encode("ascii") + b"\t" + path_bytes(path) + b"\0"
