"""A real folder as the stick of export and collect."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from tracker.errors import BadCall, CouldNot, ProveoutError, Refused
from tracker.records.places import SHOP, is_of_the_office
from tracker.services.ports_stick import Begun, Seen, ToWrite
from tracker.services.progress import Tell, quiet
from tracker.stick.copying import StagedFiles, begin, medium_error, stage
from tracker.stick.disk import Disk, FolderDisk
from tracker.stick.telling import Telling

_READING = "run the command again"


class FolderMedium:
    """A stick as a folder on some disk."""

    def __init__(
        self, disk: Disk, label: str, telling: Telling | None = None, *, forget: bool = False
    ) -> None:
        """Args: disk: the folder as steps. label: its last name. telling: of each file. forget: as `open_medium`."""
        self._disk = disk
        self._label = label
        self._telling = telling or Telling()
        self._forget = forget

    @property
    def label(self) -> str:
        """The last name of the folder; ``""`` for the root of a drive."""
        return self._label

    def look(self) -> Sequence[Seen]:
        """Everything below, sorted by path."""
        try:
            return sorted(self._looked(), key=lambda seen: seen.path)
        except OSError as fault:
            raise medium_error(fault, _READING, reading=True) from fault

    def read(self, path: str) -> bytes:
        """The bytes of a file; raises CouldNot (``medium-gone``, ``unreadable-file``)."""
        self._telling.file("reading", path)
        try:
            return self._disk.read(path)
        except OSError as fault:
            raise self._unreadable(path, fault) from fault

    def pieces(self, path: str) -> Iterator[bytes]:
        """The bytes of a file piece by piece; raises as `read` does, at any piece."""
        self._telling.file("reading", path)
        try:
            yield from self._disk.pieces(path)
        except OSError as fault:
            raise self._unreadable(path, fault) from fault

    def digest(self, path: str) -> str:
        """SHA-256 of a file; raises as `read` does."""
        self._telling.file("reading", path)
        try:
            return self._disk.digest(path, forget=self._forget)
        except OSError as fault:
            raise self._unreadable(path, fault) from fault

    def remove(self, path: str, sha256: str) -> None:
        """Take a file off while it still is what it was; raises Refused (``collect-first``), CouldNot."""
        self._telling.file("taking off", path)
        try:
            there = self._disk.at(path)
            if there is None:
                return
            if there.kind != "file" or self._disk.digest(path) != sha256:
                raise Refused(
                    "collect-first",
                    f"{path} changed while the export was running and is not taken off",
                    where=path,
                    fix="run proveout collect on the stick, then the export again",
                )
            self._disk.remove(path)
            self._disk.sync_folder(path.rpartition("/")[0])
        except OSError as fault:
            raise medium_error(fault, _READING, path) from fault

    def begin(self, files: int, size: int) -> StagedFiles | None:
        """Begin to write before all is known; None where so many files and bytes may not find room."""
        try:
            return begin(self._disk, files, size, self._telling)
        except OSError as fault:
            raise medium_error(fault, _READING) from fault

    def stage(self, files: Sequence[ToWrite], begun: Begun | None = None) -> StagedFiles:
        """Write files under temporary names, synced and read back; ``begun`` is one of ours."""
        if begun is not None and not isinstance(begun, StagedFiles):
            raise TypeError("what was begun on another medium")
        return stage(self._disk, files, self._telling, begun)

    def _looked(self) -> Iterator[Seen]:
        for seen in self._disk.look():
            self._telling.file("looking at", seen.path)
            yield seen

    def _unreadable(self, path: str, fault: OSError) -> ProveoutError:
        """One bad file does not stop the others; a stick that is gone does."""
        try:
            for _ in self._disk.look():
                break
        except OSError:
            return medium_error(fault, _READING, path, reading=True)
        words = fault.strerror or type(fault).__name__
        return CouldNot("unreadable-file", f"cannot be read: {words}", where=path, fix="try another reader")


def open_medium(folder: str | Path, tell: Tell = quiet, *, forget: bool = False) -> FolderMedium:
    """The stick at ``folder``, which must be there: it is never made, lest a stick that is not in be written to disk.

    ``tell`` is told each file. ``forget``: what is hashed is read from the medium, not from what the system keeps of it: what
    an export finds to be there already must be there.

    Raises:
        BadCall: ``no-stick``: nothing there, no folder, or one of the shop's record, where the office keeps programs.
        CouldNot: ``medium-gone``: it cannot be looked at.
    """
    path = Path(folder)
    try:
        resolved = path.resolve()
        is_folder = resolved.is_dir()
        is_shop = is_folder and _of_the_office(resolved)
    except OSError as fault:
        raise medium_error(fault, _READING, str(folder), reading=True) from fault
    if not is_folder:
        words = "is no folder" if path.exists() else "is not there"
        raise BadCall(
            "no-stick", f"{folder} {words}", where=str(folder), fix="put the stick in, or name its folder"
        )
    if is_shop:
        raise BadCall(
            "no-stick",
            f"{folder} is a folder of a shop's record, no stick",
            where=str(folder),
            fix="name the folder of the stick, as the PC shows it when it is put in",
        )
    telling = Telling(tell)
    return FolderMedium(FolderDisk(resolved, telling.moved), resolved.name, telling, forget=forget)


def _of_the_office(path: Path) -> bool:
    """Whether it is the root of a shop's record, or one of the folders there that hold programs and records."""
    for root in (path, *path.parents):
        if (root / ".git").exists() and (root / SHOP).exists():
            below = path.relative_to(root).as_posix()
            return is_of_the_office("" if below == "." else below)
    return False
