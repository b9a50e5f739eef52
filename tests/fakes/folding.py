"""A folder that knows a name in whatever letters it is asked for, and keeps the letters it was made with.

As FAT does, and disks of PCs where nobody set it otherwise. `FoldingDisk` stands in for one in any folder; `FoldingExt4` is
one, where the kernel can mount it.
"""

from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.fakes.fat import PlainStick, run
from tracker.services.ports_stick import Seen
from tracker.stick.disk import FolderDisk


class FoldingDisk(FolderDisk):
    """Every path is led to the name that is there, whatever its letters."""

    def at(self, path: str) -> Seen | None:
        seen = super().at(self._there(path))
        return seen and Seen(path=path, kind=seen.kind, size=seen.size, why=seen.why)

    def pieces(self, path: str) -> Iterator[bytes]:
        return super().pieces(self._there(path))

    def digest(self, path: str) -> str:
        return super().digest(self._there(path))

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


class FoldingExt4(PlainStick):
    """A folder of ext4 that folds case; raises OSError where none can be mounted."""

    def __init__(self, place: Path, find) -> None:
        super().__init__(place)
        self._mounted = place / "disk"
        self._mounted.mkdir()
        image = place / "disk.img"
        with image.open("wb") as file:
            file.truncate(64 * 1024**2)
        run(find("mkfs.ext4"), "-q", "-O", "casefold", "-E", "encoding=utf8", image)
        if run("mount", "-o", "loop", image, self._mounted, check=False).returncode:
            raise OSError("this kernel mounts no ext4 that folds case")
        self.folder.rmdir()
        self.folder = self._mounted / "BLUE-1"
        self.folder.mkdir()
        run("chattr", "+F", self.folder)

    def close(self) -> None:
        run("umount", self._mounted, check=False)
