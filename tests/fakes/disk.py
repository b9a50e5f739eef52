"""A stick in memory on which the power can be cut after any step."""

import hashlib
from collections.abc import Iterator, Sequence

from tracker.services.ports_stick import Seen


class PowerCut(BaseException):
    """The power went; no handler of the program gets to do anything useful any more."""


class MemoryDisk:
    """Files by path; `kept` is what would be there after a power cut, worked out from what was synced."""

    def __init__(
        self, files: dict[str, bytes] | None = None, *, room: int | None = None, cluster: int | None = None
    ) -> None:
        self.files: dict[str, bytes] = dict(files or {})
        self.folders: set[str] = set()
        self.links: set[str] = set()
        self.fails: dict[str, OSError] = {}
        self.free = room
        self.unit = cluster
        self.steps = 0
        self.cut_after: int | None = None
        self.dead = False
        self.lying: set[str] = set()  # names whose content does not read back as written: cut short
        self.unsynced: set[str] = set()  # content not yet on the medium
        self.pending: list[
            tuple[str, str, bytes | None]
        ] = []  # renames whose names are not yet on the medium
        self.log: list[str] = []
        for path in self.files:
            self._folders_of(path)

    def look(self) -> Iterator[Seen]:
        self._may("look", "")
        for folder in sorted(self.folders):
            yield Seen(path=folder, kind="folder")
        for link in sorted(self.links):
            yield Seen(path=link, kind="link")
        for path, data in sorted(self.files.items()):
            yield Seen(path=path, size=len(data))

    def at(self, path: str) -> Seen | None:
        if path in self.links:
            return Seen(path=path, kind="link")
        if path in self.folders:
            return Seen(path=path, kind="folder")
        if path in self.files:
            short = path.rsplit("/", 1)[-1] in self.lying
            return Seen(path=path, size=len(self.files[path]) - short)
        return None

    def read(self, path: str) -> bytes:
        self._may("read", path)
        if path not in self.files:
            raise FileNotFoundError(2, "no longer there", path)
        data = self.files[path]
        return data[:-1] if path.rsplit("/", 1)[-1] in self.lying else data

    def pieces(self, path: str) -> Iterator[bytes]:
        yield self.read(path)

    def digest(self, path: str, *, forget: bool = False) -> str:
        return hashlib.sha256(self.read(path)).hexdigest()

    def room(self) -> int | None:
        return self.free

    def cluster(self) -> int | None:
        return self.unit

    def make_folder(self, path: str) -> None:
        self._may("make_folder", path)
        self._folders_of(path + "/x")
        self._step(f"folder {path}")

    def create(self, path: str, data: bytes) -> None:
        self._may("create", path)
        if path in self.files:
            raise FileExistsError(17, "exists", path)
        self.unsynced.add(path)
        for part in (b"", data[: len(data) // 2], data):
            self.files[path] = part
            self._step(f"write {path}")

    def sync(self, paths: Sequence[str]) -> Iterator[str]:
        for path in paths:
            self._may("sync", path)
            self.unsynced.discard(path)
            self._step(f"sync {path}")
            yield path

    def read_back(self, paths: Sequence[str]) -> Iterator[str]:
        return map(self.digest, paths)

    def rename(self, old: str, new: str) -> None:
        self._may("rename", old)
        self.pending.append((old, new, self.files.get(new)))
        self.files[new] = self.files.pop(old)
        self._step(f"rename {new}")

    def remove(self, path: str) -> None:
        self._may("remove", path)
        if path not in self.files:
            raise FileNotFoundError(2, "no longer there", path)
        del self.files[path]

    def remove_folder(self, path: str) -> None:
        self._may("remove_folder", path)
        if any(other.startswith(path + "/") for other in (*self.files, *self.links, *self.folders)):
            raise OSError(39, "not empty", path)
        self.folders.remove(path)

    def sync_folder(self, path: str) -> None:
        self._may("sync_folder", path)
        self.pending.clear()
        self._step(f"sync folder {path}")

    def after_cut(self, *, names: str, content: bool) -> "MemoryDisk":
        """What lies there when the power is back.

        ``names``: renames not yet synced are ``done``, ``lost``, or ``torn`` (the old file gone, the new one still
        under its temporary name, as FAT can leave it). ``content``: whether unsynced content got through.
        """
        files = dict(self.files)
        for old, new, before in reversed(self.pending if names != "done" else []):
            files[old] = files.pop(new)
            if before is not None and names == "lost":
                files[new] = before
        if not content:
            for path in self.unsynced:
                files[path] = b""
        return MemoryDisk(files)

    def _may(self, step: str, path: str) -> None:
        if self.dead:
            raise PowerCut
        fault = self.fails.get(step) or self.fails.get(f"{step} {path}")
        if fault is not None:
            raise fault

    def _step(self, what: str) -> None:
        self.log.append(what)
        self.steps += 1
        if self.cut_after is not None and self.steps >= self.cut_after:
            self.dead = True
            raise PowerCut

    def _folders_of(self, path: str) -> None:
        parts = path.split("/")[:-1]
        self.folders.update("/".join(parts[:n]) for n in range(1, len(parts) + 1))
