"""The files of one commit."""

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property

from tracker.digest import sha256_of
from tracker.errors import CouldNot
from tracker.records.job import Job
from tracker.records.places import SHOP, is_job_file
from tracker.records.shop import Shop
from tracker.store.tree_objects import Entry, TreeObjects

__all__ = ["REGULAR", "CommitTree", "Entry", "ReadsFiles", "no_shop"]

REGULAR = ("100644", "100755", "100664")
_SEVERAL = 2


class ReadsFiles:
    """What every tree can do once it can list and read: find and load job.toml and shop.toml."""

    def paths(self) -> Sequence[str]:
        """All files, sorted."""
        raise AssertionError("each tree lists its own files")

    def read(self, path: str) -> bytes | None:
        """The bytes of a file, or None if there is none."""
        raise AssertionError(path)

    def digest(self, path: str) -> str | None:
        """The SHA-256 of the bytes of a file, or None if there is none."""
        data = self.read(path)
        return None if data is None else sha256_of(data)

    def has(self, path: str) -> bool:
        """Whether `paths` lists this file."""
        return path in self.paths()

    def job_paths(self) -> Mapping[str, str]:
        """Job folder name (lower case) -> path of its job.toml."""
        return {path.split("/")[1].lower(): path for path in self.paths() if is_job_file(path)}

    def job(self, path: str) -> Job:
        """The job.toml at ``path``; raises BadCall with file:line when it is wrong, CouldNot without one."""
        return self._load_job(path)

    def shop(self) -> Shop:
        """shop.toml; raises BadCall when it is wrong, CouldNot (``no-shop``) when there is none."""
        return self._load_shop()

    def line_of(self, path: str, key: tuple[str | int, ...]) -> int:
        """The line of a key of a TOML file that was read without a mistake."""
        from tracker.store.toml_files import toml_text  # only a mistake has to be found again
        from tracker.store.toml_lines import line_of, lines_of

        return line_of(lines_of(toml_text(self._must_read(path), path)), key)

    def where(self) -> str:
        """What this is a tree of, for messages."""
        return ""

    def _load_job(self, path: str, *, sound: bool = False) -> Job:
        from tracker.store.toml_files import load_job

        return load_job(self._must_read(path), path, sound=sound)

    def _load_shop(self, *, sound: bool = False) -> Shop:
        from tracker.store.toml_files import load_shop

        data = self.read(SHOP)
        if data is None:
            raise no_shop(self.where())
        return load_shop(data, SHOP, sound=sound)

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

    def __init__(self, trees: TreeObjects, commit: str | None) -> None:
        self._trees = trees
        self.commit = commit
        self._held: dict[str, bytes] = {}
        self._folders: dict[str, Mapping[str, Entry]] = {}
        self._jobs_asked = 0
        self._listed = trees.listed(commit) if commit is not None else None

    @property
    def held(self) -> int:
        """Bytes of the files that were read from it, which it keeps."""
        return sum(map(len, self._held.values()))

    @cached_property
    def entries(self) -> Mapping[str, Entry]:
        """Every regular file by path."""
        return {path: entry for path, entry in self.all_entries.items() if entry.mode in REGULAR}

    @property
    def all_entries(self) -> Mapping[str, Entry]:
        """Everything the tree holds, links and submodules too."""
        if self._listed is None:
            self._listed = {} if self.commit is None else self._trees.listing(self.commit)
        return self._listed

    def paths(self) -> Sequence[str]:
        """All files, sorted."""
        return sorted(path for path, entry in self.all_entries.items() if entry.mode in REGULAR)

    def read(self, path: str) -> bytes | None:
        """The bytes of a file, or None if there is none."""
        if path not in self._held:
            entry = self._entry(path)
            if entry is None:
                return None
            self._held[path] = self._trees.objects.blob(entry.blob)
        return self._held[path]

    def digest(self, path: str) -> str | None:
        """The SHA-256 of the bytes of a file, or None if there is none; of each blob it is made once."""
        entry = self._entry(path)
        if entry is None:
            return None
        known = self._trees.digests.get(entry.blob)
        if known is None:
            known = self._trees.digests[entry.blob] = sha256_of(self._trees.objects.blob(entry.blob))
        return known

    def has(self, path: str) -> bool:
        """Whether there is such a file."""
        return self._entry(path) is not None

    def blob_of(self, path: str) -> str | None:
        """The id of a file; None where there is none."""
        entry = self._entry(path)
        return entry.blob if entry is not None else None

    def files_below(self, folder: str) -> Mapping[str, Sequence[str]]:
        """Every folder straight below one -> a line for each file below it at any depth, with its mode and id."""
        found: dict[str, list[str]] = {}
        opens, depth = f"{folder}/", folder.count("/") + 2
        for path, entry in sorted(self.all_entries.items()):
            if path.startswith(opens):
                parts = path.split("/", depth)
                if len(parts) > depth:
                    line = f"{entry.mode} {entry.blob} {path}"
                    found.setdefault("/".join(parts[:depth]), []).append(line)
        return found

    def job_paths(self) -> Mapping[str, str]:
        """Job folder name (lower case) -> path of its job.toml."""
        entries = self.all_entries
        paths = [path for path in entries if path.endswith("/job.toml") and is_job_file(path)]
        plain = sorted(path for path in paths if entries[path].mode in REGULAR)
        return {path.split("/")[1].lower(): path for path in plain}

    def read_ahead(self, wanted: Callable[[str], bool]) -> None:
        """Read many files in one go; later reads of them cost nothing."""
        paths = [path for path in self.entries if path not in self._held and wanted(path)]
        found = self._trees.objects.read(self.entries[path].blob for path in paths)
        self._held.update((path, found[self.entries[path].blob].data) for path in paths)

    def job(self, path: str) -> Job:
        """The job.toml at ``path``; the second call reads those of all jobs, one at a time would wait on each."""
        entry = self._entry(path)
        if entry is None:
            return super().job(path)
        key = (entry.blob, path)
        if key not in self._trees.jobs:
            self._jobs_asked += 1
            if self._jobs_asked == _SEVERAL and path not in self._held:
                self.read_ahead(is_job_file)
            self._trees.jobs[key] = self._load_job(path, sound=key in self._trees.sound)
            self._trees.sound.add(key)
        return self._trees.jobs[key]

    def shop(self) -> Shop:
        """shop.toml; raises BadCall when it is wrong, CouldNot (``no-shop``) when there is none."""
        entry = self._entry(SHOP)
        if entry is None:
            return super().shop()
        if entry.blob not in self._trees.shops:
            key = (entry.blob, SHOP)
            self._trees.shops[entry.blob] = self._load_shop(sound=key in self._trees.sound)
            self._trees.sound.add(key)
        return self._trees.shops[entry.blob]

    def where(self) -> str:
        """What this is a tree of, for messages."""
        return f"the record (state {self.commit[:12]})" if self.commit else "the record, which is still empty"

    def _entry(self, path: str) -> Entry | None:
        """The regular file at ``path``, or None."""
        if self._listed is not None:
            found = self._listed.get(path)
            return found if found is not None and found.mode in REGULAR else None
        folder, _, name = path.rpartition("/")
        if folder not in self._folders:
            self._folders[folder] = {} if self.commit is None else self._trees.folder(self.commit, folder)
        found = self._folders[folder].get(name)
        return found if found is not None and found.mode in REGULAR else None
