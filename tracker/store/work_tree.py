"""The files in the working folder, read and written so that nobody's bytes are lost."""

import hashlib
import os
import stat
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from glob import escape
from pathlib import Path

from tracker.errors import BadCall, CouldNot
from tracker.records.job import Job
from tracker.services.ports import NewFile
from tracker.store.git import Git, path_text
from tracker.store.tree import ReadsFiles

_MANY = 24
_AT_ONCE = 8
"""Files that wait for the disk at once; more gained nothing where it was tried."""


class WorkTree(ReadsFiles):
    """The working folder. Links are no files: they could lead outside the repository."""

    def __init__(self, git: Git, root: Path, seen: dict[str, str] | None = None) -> None:
        """``seen`` is shared by all who look at this folder: path -> SHA-256 of what was last read."""
        self._git = git
        self.root = root
        self._paths: list[str] | None = None
        self._listed: frozenset[str] | None = None
        self._jobs: Mapping[str, str] | None = None
        self._loaded: dict[str, tuple[bytes, Job]] = {}
        self._seen: dict[str, str] = {} if seen is None else seen

    def paths(self) -> Sequence[str]:
        """All files, sorted: tracked and untracked, without git's own and ignored ones."""
        if self._paths is None:
            out = self._git.run("ls-files", "-z", "--cached", "--others", "--exclude-standard")
            listed = {path_text(raw) for raw in out.split(b"\0") if raw}
            self._paths = sorted(path for path in listed if is_file(self.root / path))
        return self._paths

    def has(self, path: str) -> bool:
        """Whether `paths` lists this file."""
        if self._listed is None:
            self._listed = frozenset(self.paths())
        return path in self._listed

    def job_paths(self) -> Mapping[str, str]:
        """Job folder name (lower case) -> path of its job.toml; of the same moment as `paths`."""
        if self._jobs is None:
            self._jobs = super().job_paths()
        return self._jobs

    def job(self, path: str) -> Job:
        """The job.toml at ``path``, taken apart once as long as its bytes stay the same."""
        data = self._must_read(path)
        if path not in self._loaded or self._loaded[path][0] != data:
            self._loaded[path] = data, super().job(path)
        return self._loaded[path][1]

    def read(self, path: str) -> bytes | None:
        """The bytes of a file, or None if there is none; what was read last is remembered for `seen`."""
        data = read_file(self.root, path)
        if data is not None:
            self._seen[path] = hashlib.sha256(data).hexdigest()
        return data

    def seen(self, path: str) -> str | None:
        """SHA-256 of what the last read of this file gave; None if it was never read."""
        return self._seen.get(path)

    def where(self) -> str:
        """What this is a tree of, for messages."""
        return str(self.root)


def is_file(path: Path) -> bool:
    """Whether there is a regular file, not a link to one."""
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except (OSError, ValueError):
        return False


def check_path(path: str) -> None:
    """Raise BadCall (``bad-path``) for a path that leaves the repository, or that git cannot keep."""
    parts = path.split("/")
    fault = (
        not path
        or path.startswith("/")
        or any(part in ("", ".", "..") or part.lower() == ".git" for part in parts)
        or any(mark in path for mark in "\n\r\0")
        or (os.name == "nt" and any(mark in path for mark in '\\:*?"<>|'))
    )
    if fault:
        raise BadCall("bad-path", "this path cannot be kept here", where=path, fix="rename the file")


def read_file(root: Path, path: str) -> bytes | None:
    """The bytes of a regular file below ``root``, or None; raises CouldNot when it is there and cannot be read."""
    check_path(path)
    full = root / path
    if not is_file(full):
        return None
    try:
        return full.read_bytes()
    except OSError as fault:
        raise CouldNot(
            "no-permission" if isinstance(fault, PermissionError) else "not-readable",
            f"the file cannot be read: {fault.strerror or fault}",
            where=path,
            fix="look at its permissions, and whether another program holds it open",
        ) from fault


def write_file(root: Path, path: str, data: bytes) -> None:
    """Put a whole file in place at once: temporary name beside it, down to the disk, then renamed over.

    A kill at any moment leaves the old file or the new one, never half of one. Raises CouldNot (``not-written``).
    """
    check_path(path)
    full = root / path
    temporary = full.with_name(f".{full.name[:80]}.{os.urandom(4).hex()}.part")
    try:
        full.parent.mkdir(parents=True, exist_ok=True)
        try:
            with temporary.open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            temporary.replace(full)
        finally:
            temporary.unlink(missing_ok=True)
        _sync_folder(full.parent)
    except OSError as fault:
        raise CouldNot(
            "not-written",
            f"the file cannot be written: {fault.strerror or fault}",
            where=path,
            fix="look at the free space and the permissions of the folder",
        ) from fault


def drop_unfinished(root: Path, path: str) -> None:
    """Remove copies of a file that a `write_file` which was killed had not brought to its name."""
    full = root / path
    for part in full.parent.glob(f".{escape(full.name[:80])}.????????.part"):
        part.unlink(missing_ok=True)


def side_by_side(write: Callable[[NewFile], None], files: Sequence[NewFile]) -> None:
    """Write many files at once, since each waits for the disk; raises what the first that fails raises.

    By then nothing is being written any more; what was not begun is left.
    """
    if len(files) < _MANY:
        for file in files:
            write(file)
        return
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        for _ in pool.map(write, files):
            pass


def _sync_folder(folder: Path) -> None:
    """Bring the rename itself to the disk, where folders can be opened for that (not on Windows)."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:  # a network folder may not know how; the file's own bytes are safe
        pass
    finally:
        os.close(handle)
