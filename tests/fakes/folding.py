"""A folder that knows a name in whatever letters it is asked for, and keeps the letters it was made with.

As FAT does, and disks of PCs where nobody set it otherwise; `FoldingDisk` stands in for one in any folder.
"""

from collections.abc import Iterator, Sequence

from tracker.services.ports_stick import Seen
from tracker.stick.disk import FolderDisk


class FoldingDisk(FolderDisk):
    """Every path is led to the name that is there, whatever its letters."""

    def at(self, path: str) -> Seen | None:
        seen = super().at(self._there(path))
        return seen and Seen(path=path, kind=seen.kind, size=seen.size, why=seen.why)

    def pieces(self, path: str) -> Iterator[bytes]:
        return super().pieces(self._there(path))

    def digest(self, path: str, *, forget: bool = False) -> str:
        return super().digest(self._there(path), forget=forget)

    def make_folder(self, path: str) -> None:
        super().make_folder(self._there(path))

    def create(self, path: str, data: bytes) -> None:
        super().create(self._there(path), data)

    def sync(self, paths: Sequence[str]) -> Iterator[str]:
        yield from super().sync([self._there(path) for path in paths])

    def read_back(self, paths: Sequence[str]) -> Iterator[str]:
        yield from super().read_back([self._there(path) for path in paths])

    def rename(self, old: str, new: str) -> None:
        super().rename(self._there(old), self._there(new))

    def remove(self, path: str) -> None:
        super().remove(self._there(path))

    def sync_folder(self, path: str) -> None:
        super().sync_folder(self._there(path))

    def _there(self, path: str) -> str:
        at, found = self._folder, []
        for part in path.split("/") if path else ():
            names = {one.name.casefold(): one.name for one in at.iterdir()} if at.is_dir() else {}
            found.append(names.get(part.casefold(), part))
            at /= found[-1]
        return "/".join(found)
