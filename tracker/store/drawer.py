"""New files in the working folder, put there so that nothing that lies there is written over."""

import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from tracker.errors import BadCall, CouldNot, Refused
from tracker.records.job import Job
from tracker.services.ports import NewFile
from tracker.store.clone import Clone
from tracker.store.toml_files import load_job
from tracker.store.work_tree import check_path, is_file, side_by_side, write_file


class WorkDrawer:
    """`tracker.services.ports_new.Drawer` on the working folder of a clone; ``folder`` is the one names are read from."""

    def __init__(self, clone: Clone, folder: Path) -> None:
        """``folder``: where the person stands (``-C``)."""
        self._root = Path(clone.root)
        self._folder = folder
        self._folders: list[Path] = []

    def place_of(self, name: str) -> str | None:
        """The path in the repository of a file as a person named it; a link counts as what it points at."""
        if name == "-":
            return None
        try:
            full = (self._folder / name).resolve()
            path = full.relative_to(self._root.resolve()).as_posix()
            check_path(path)
        except (OSError, ValueError, BadCall):
            return None
        return path

    def reads_as(self, path: str, data: bytes) -> Job:
        """The job these bytes would be at ``path``."""
        return load_job(data, path)

    def put(self, files: Sequence[NewFile]) -> None:
        """Write new files, all of them or none; one that is there with the same bytes already is left alone."""
        new = [file for file in files if not self._is_there(file)]
        self._folders.extend(self._missing_folders(new))
        made: list[Path] = []
        try:
            side_by_side(lambda file: self._make(file, made), new)
        except BaseException:
            self._take_away(made)
            raise

    def take_back(self, files: Sequence[NewFile]) -> None:
        """Take files away again that `put` wrote, as long as they hold what was written; nothing else goes."""
        full = [(self._root / file.path, file.data) for file in files]
        with suppress(OSError):
            self._take_away([path for path, data in full if is_file(path) and path.read_bytes() == data])

    def grow(self, path: str, before: bytes, more: bytes) -> None:
        """Add ``more`` at the end of a file that holds ``before``."""
        try:
            held = (self._root / path).read_bytes()
        except OSError as fault:
            raise _not_written(path, fault) from fault
        if held != before:
            raise Refused("moved", "the file was edited meanwhile", where=path, fix="run it again")
        write_file(self._root, path, before + more)

    def _missing_folders(self, files: Sequence[NewFile]) -> list[Path]:
        """The folders still to be made for them, the deepest first."""
        above = {folder for file in files for folder in (self._root / file.path).parents}
        return sorted(
            (one for one in above if not one.exists()), key=lambda one: len(one.parts), reverse=True
        )

    def _take_away(self, made: Sequence[Path]) -> None:
        """What cannot be taken away now stays; what went wrong before is what is told."""
        for path in made:
            with suppress(OSError):
                path.unlink(missing_ok=True)
        for folder in self._folders:
            with suppress(OSError):  # one that holds something stays
                folder.rmdir()

    def _is_there(self, file: NewFile) -> bool:
        check_path(file.path)
        full = self._root / file.path
        if not os.path.lexists(full):
            return False
        try:
            same = full.is_file() and not full.is_symlink() and full.read_bytes() == file.data
        except OSError:
            same = False
        if not same:
            raise BadCall(
                "file-exists",
                "there is such a file already, and it holds something else",
                where=file.path,
                fix="rename one of the two; nothing was written",
            )
        return True

    def _make(self, file: NewFile, made: list[Path]) -> None:
        full = self._root / file.path
        try:
            full.parent.mkdir(parents=True, exist_ok=True)
            with full.open("xb") as out:
                made.append(full)
                out.write(file.data)
                out.flush()
                os.fsync(out.fileno())
        except OSError as fault:
            raise _not_written(file.path, fault) from fault


def _not_written(path: str, fault: OSError) -> CouldNot:
    return CouldNot(
        "not-written",
        f"the file cannot be written: {fault.strerror or fault}",
        where=path,
        fix="look at the free space and the permissions of the folder",
    )
