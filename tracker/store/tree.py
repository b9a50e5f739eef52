"""The files of one commit."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from tracker.errors import CouldNot
from tracker.records.job import Job
from tracker.records.places import SHOP, is_job_file
from tracker.records.shop import Shop
from tracker.store.git import Git, path_text
from tracker.store.objects import Objects

REGULAR = ("100644", "100755", "100664")


@dataclass(frozen=True, slots=True)
class Entry:
    """A file in a tree or in the index: mode and blob id."""

    mode: str
    blob: str


class ReadsFiles:
    """What every tree can do once it can list and read: find and load job.toml and shop.toml."""

    def paths(self) -> Sequence[str]:
        """All files, sorted."""
        raise AssertionError("each tree lists its own files")

    def read(self, path: str) -> bytes | None:
        """The bytes of a file, or None if there is none."""
        raise AssertionError(path)

    def job_paths(self) -> Mapping[str, str]:
        """Job folder name (lower case) -> path of its job.toml."""
        return {path.split("/")[1].lower(): path for path in self.paths() if is_job_file(path)}

    def job(self, path: str) -> Job:
        """The job.toml at ``path``; raises BadCall with file:line when it is wrong, CouldNot without one."""
        from tracker.store.toml_files import load_job

        return load_job(self._must_read(path), path)

    def shop(self) -> Shop:
        """shop.toml; raises BadCall when it is wrong, CouldNot (``no-shop``) when there is none."""
        from tracker.store.toml_files import load_shop

        data = self.read(SHOP)
        if data is None:
            raise no_shop(self.where())
        return load_shop(data, SHOP)

    def where(self) -> str:
        """What this is a tree of, for messages."""
        return ""

    def _must_read(self, path: str) -> bytes:
        data = self.read(path)
        if data is None:
            raise CouldNot("no-such-file", "there is no such file", where=path, fix="check the name")
        return data


def no_shop(where: str) -> CouldNot:
    """The error for a repository that keeps no shop."""
    return CouldNot(
        "no-shop",
        f"there is no shop.toml in {where}",
        fix="make the shop with `proveout init --name SHOP`, or go to the folder that has one with -C DIR",
    )


class CommitTree(ReadsFiles):
    """The files of one commit; an empty tree where there is no commit yet. Links and submodules are no files."""

    def __init__(self, git: Git, objects: Objects, commit: str | None) -> None:
        self._git = git
        self._objects = objects
        self.commit = commit
        self._held: dict[str, bytes] = {}

    @cached_property
    def entries(self) -> Mapping[str, Entry]:
        """Every regular file by path."""
        return {path: entry for path, entry in self.all_entries.items() if entry.mode in REGULAR}

    @cached_property
    def all_entries(self) -> Mapping[str, Entry]:
        """Everything the tree holds, links and submodules too."""
        if self.commit is None:
            return {}
        out = self._git.run("ls-tree", "-r", "-z", "--full-tree", self.commit)
        rows = (row.partition(b"\t") for row in out.split(b"\0") if row)
        return {path_text(path): _entry(head) for head, _, path in rows}

    def paths(self) -> Sequence[str]:
        """All files, sorted."""
        return sorted(self.entries)

    def read(self, path: str) -> bytes | None:
        """The bytes of a file, or None if there is none."""
        if path not in self._held:
            entry = self.entries.get(path)
            if entry is None:
                return None
            self._held[path] = self._objects.blob(entry.blob)
        return self._held[path]

    def read_ahead(self, wanted: Callable[[str], bool]) -> None:
        """Read many files in one go; later reads of them cost nothing."""
        paths = [path for path in self.entries if path not in self._held and wanted(path)]
        found = self._objects.read(self.entries[path].blob for path in paths)
        self._held.update((path, found[self.entries[path].blob].data) for path in paths)

    def job(self, path: str) -> Job:
        """The job.toml at ``path``; the first call reads those of all jobs, one at a time would wait on each."""
        if path not in self._held:
            self.read_ahead(is_job_file)
        return super().job(path)

    def where(self) -> str:
        """What this is a tree of, for messages."""
        return f"the record (state {self.commit[:12]})" if self.commit else "the record, which is still empty"


def _entry(head: bytes) -> Entry:
    mode, _, blob = head.decode("ascii").split()
    return Entry(mode, blob)
