"""Copying to a stick so that a power cut, a full stick or a pulled one never leaves a wrong program.

The order, file by file:

1. free space for everything, before anything is written;
2. each file under a temporary name, some of them while it is still being worked out which go at all (`begin`); then
   each through to the medium, read back from it and compared, some lots while the rest is still being made
   (`read_behind`); what does not go after all is taken away;
3. (the caller records the export: from here on every file is known by its SHA-256)
4. each temporary name becomes the real one in one step, only where the file it replaces is still the one that may be
   replaced; the bytes are not moved by that, so what lies there then is asked for its length alone;
5. the folder's names through to the medium;
6. the manifest last, in the same way.

A cut before 4 leaves temporary files (``PO3F2A1B.TMP``) that no control takes for a program; a cut inside 4 leaves
whole old and whole new files and the old manifest. Temporary files of an earlier, interrupted call are left alone:
their SHA-256 stands in no export record.
"""

import contextlib
import errno
import hashlib
import re
from collections.abc import Container, Sequence
from dataclasses import dataclass, replace
from threading import Lock

from tracker.errors import CouldNot, ProveoutError, Refused
from tracker.services.ports_stick import ToWrite
from tracker.stick.disk import Disk, many
from tracker.stick.read_behind import ReadBehind
from tracker.stick.room import needed
from tracker.stick.telling import Telling

LEFTOVER = re.compile(r"(?i)PO[0-9A-F]{6}\.TMP")
_SPACE = {errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)}
_CLOSED = {errno.EROFS, errno.EACCES, errno.EPERM}
_ONCE_MORE = "run the export again; what is already on the stick is known and is looked at again"


def begin(disk: Disk, files: int, size: int, telling: Telling | None = None) -> "StagedFiles | None":
    """Files that are written before all is known; None where so many files and bytes may not find room.

    What is written may grow: two line ends for one, and a stamp.
    """
    room = disk.room()
    each = -(-(size + size // 4) // max(files, 1))
    least = needed([each] * files + [0], disk.cluster())
    return None if room is not None and room < least else StagedFiles(disk, telling)


def stage(
    disk: Disk,
    files: Sequence[ToWrite],
    telling: Telling | None = None,
    begun: "StagedFiles | None" = None,
) -> "StagedFiles":
    """Write all files under temporary names; nothing stays behind when it fails.

    Args:
        disk: where they go.
        files: in the order they are to be named, the list last.
        telling: of each file as it is begun.
        begun: holds the bytes of those that bring none; everything else in it is taken away.

    Raises:
        CouldNot: ``no-room``, ``read-only``, ``medium-gone``, ``copy-failed``.
        Refused: ``not-a-folder``, ``link-on-stick``: something else is in the way.
    """
    staged = begun or StagedFiles(disk, telling)
    try:
        _need_room(disk, [file for file in files if file.data is not None])
        for folder in dict.fromkeys(file.path.rpartition("/")[0] for file in files):
            staged.need_folder(folder)
        for file in files:
            staged.add(file, len(files))
        staged.leave()
        staged.check()
    except BaseException as fault:
        staged.drop()
        if isinstance(fault, OSError):
            raise medium_error(fault, "nothing on the stick was changed") from fault
        raise
    return staged


@dataclass(frozen=True, slots=True)
class _Waiting:
    """A file under its temporary name, without its bytes."""

    temporary: str
    path: str
    sha256: str
    size: int
    replaces: str | None = None


class StagedFiles:
    """Files under temporary names on a disk, in the order they are to be named."""

    def __init__(self, disk: Disk, telling: Telling | None = None) -> None:
        """Args: disk: where they lie. telling: of each file as it is begun."""
        self._disk = disk
        self._telling = telling or Telling()
        self._waiting: list[_Waiting] = []
        self._ahead: dict[tuple[str, str], _Waiting] = {}
        self._given_up = False
        self._one_at_a_time = Lock()  # a stick is quickest so; and names are given out one by one
        self._taken: set[str] = set()
        self._there: set[str] = set()
        self._made: list[str] = []
        self._folders: set[str] = set()
        self._behind = ReadBehind(disk, self._telling)

    @property
    def count(self) -> int:
        """How many wait for their name."""
        return len(self._waiting)

    def need_folder(self, folder: str) -> None:
        """Make a folder where it is not there; raises Refused as `stage`, OSError."""
        if folder not in self._there:
            self._made += _need_folder(self._disk, folder)
            self._there.add(folder)

    def write(self, file: ToWrite) -> None:
        """Write one of which it is not known yet whether it goes, from any thread.

        Raises CouldNot and Refused as `stage`; CouldNot (``copy-failed``) after `drop`.
        """
        with self._one_at_a_time:
            if self._given_up:
                raise CouldNot("copy-failed", "nothing more is written", where=file.path, fix=_ONCE_MORE)
            if (file.path, file.sha256) in self._ahead:
                return
            try:
                self.need_folder(file.path.rpartition("/")[0])
                waiting = self._begun(file)
                self._ahead[file.path, file.sha256] = waiting
                self._telling.file("writing", file.path)
                self._disk.create(waiting.temporary, file.data or b"")
                self._behind.written(waiting.temporary, waiting.sha256, waiting.size)
            except OSError as fault:
                raise medium_error(fault, "nothing on the stick was changed") from fault

    def add(self, file: ToWrite, total: int) -> None:
        """Write one more of ``total``, or take it over where it was written before; raises OSError."""
        before = self._ahead.pop((file.path, file.sha256), None)
        if before is not None:
            self._waiting.append(replace(before, replaces=file.replaces))
            return
        if file.data is None:
            raise ValueError(f"{file.path}: its bytes were never written")
        self._telling.counted("writing", file.path, self.count, total)
        waiting = self._begun(file)
        self._waiting.append(waiting)
        self._disk.create(waiting.temporary, file.data)

    def leave(self) -> None:
        """Take away what was written and does not go after all; raises OSError."""
        self._behind.end()
        while self._ahead:
            key, waiting = next(iter(self._ahead.items()))
            self._disk.remove(waiting.temporary)
            del self._ahead[key]

    def _begun(self, file: ToWrite) -> _Waiting:
        temporary = _free_name(self._disk, file, self._taken)
        self._taken.add(temporary)
        self._telling.call(temporary, file.path)
        return _Waiting(temporary, file.path, file.sha256, file.size, file.replaces)

    def check(self) -> None:
        """Everything through to the medium, then read back; raises OSError, CouldNot (``copy-failed``).

        What no lot held goes there in one, once all of it is written: the system then writes files side by side, in a
        fraction of the time.
        """
        self._behind.end()
        found = [(one, self._behind.sound(one.temporary)) for one in self._waiting]
        for file, sound in found:
            if sound is False:
                raise _copy_failed(file.path, "nothing on the stick was changed")
        left = [file for file, sound in found if sound is None]
        temporary = [one.temporary for one in left]
        through = self._disk.sync(temporary)
        for _ in self._telling.waited_for("writing through", temporary, through, together=many(temporary)):
            pass
        read = self._telling.waited_for("reading back", temporary, self._disk.read_back(temporary))
        for sha256, file in zip(read, left, strict=True):
            if sha256 != file.sha256:
                raise _copy_failed(file.path, "nothing on the stick was changed")

    def finish(self) -> None:
        """Give every file its name, the last one (the manifest) after all others are on the medium."""
        total = len(self._waiting)
        try:
            while self._waiting:
                if len(self._waiting) == 1:
                    self._sync()
                self._telling.counted("naming", self._waiting[0].path, total - len(self._waiting), total)
                self._name(self._waiting[0])
                del self._waiting[0]
            self._sync()
        except OSError as fault:
            raise medium_error(fault, _ONCE_MORE) from fault
        finally:
            self.drop()

    def drop(self) -> None:
        """Take away the temporary files this call made, and its folders where nothing got a name in them.

        What cannot be taken away stays for a person to see.
        """
        with self._one_at_a_time:
            self._given_up = True
            self._behind.stop()
            for one in (*self._waiting, *self._ahead.values()):
                with contextlib.suppress(OSError):
                    self._disk.remove(one.temporary)
            self._waiting.clear()
            self._ahead.clear()
            for folder in reversed([] if self._folders else self._made):
                with contextlib.suppress(OSError):  # something else lies there by now
                    self._disk.remove_folder(folder)
            self._made.clear()

    def _name(self, file: _Waiting) -> None:
        self._folders.add(file.path.rpartition("/")[0])
        there = self._disk.at(file.path)
        if there is not None and (
            there.kind != "file" or file.replaces is None or self._disk.digest(file.path) != file.replaces
        ):
            raise Refused(
                "collect-first",
                f"{file.path} changed while the export was running and is not replaced",
                where=file.path,
                fix="run proveout collect on the stick, then the export again",
            )
        self._disk.rename(file.temporary, file.path)
        named = self._disk.at(file.path)
        if named is None or named.size != file.size:
            self._disk.rename(file.path, file.temporary)  # no wrong text under a program's name
            raise _copy_failed(file.path, _ONCE_MORE)

    def _sync(self) -> None:
        for folder in sorted(self._folders):
            self._telling.file("writing through the names in", folder)
            self._disk.sync_folder(folder)


def medium_error(
    fault: OSError, fix: str, path: str | None = None, *, reading: bool = False
) -> ProveoutError:
    """What a person is told about a medium that did not do what it was asked."""
    where = path or (str(fault.filename) if fault.filename else None)
    words = fault.strerror or str(fault) or type(fault).__name__
    if fault.errno in _SPACE:
        return CouldNot("no-room", "the stick is full", where=where, fix=f"make room on it; {fix}")
    if fault.errno in _CLOSED and reading:
        return CouldNot(
            "unreadable-file",
            f"the stick cannot be read: {words}",
            where=where,
            fix="ask for the right to read it",
        )
    if fault.errno in _CLOSED:
        return CouldNot(
            "read-only",
            f"the stick does not let itself be written: {words}",
            where=where,
            fix=f"look at its write lock; {fix}",
        )
    return CouldNot(
        "medium-gone", f"the stick does not answer: {words}", where=where, fix=f"put it in again; {fix}"
    )


def _need_room(disk: Disk, files: Sequence[ToWrite]) -> None:
    room = disk.room()
    need = needed([file.size for file in files], disk.cluster())
    if room is not None and room < need:
        raise CouldNot(
            "no-room",
            f"the stick has {room // 1024:,} KB free and {need // 1024:,} KB are needed",
            fix="make room on it; nothing on the stick was changed",
        )


def _need_folder(disk: Disk, folder: str) -> list[str]:
    """Make a folder and those above it; which were not there before, the outermost first."""
    if not folder:
        return []
    missing = []
    parts = folder.split("/")
    for number in range(1, len(parts) + 1):
        above = "/".join(parts[:number])
        there = disk.at(above)
        if there is not None and there.kind != "folder":
            name, words = (
                ("link-on-stick", "a link") if there.kind == "link" else ("not-a-folder", "no folder")
            )
            raise Refused(
                name,
                f"{above} on the stick is {words}; nothing is written through it",
                where=above,
                fix="take it off the stick",
            )
        if there is None:
            missing.append(above)
    disk.make_folder(folder)
    return missing


def _free_name(disk: Disk, file: ToWrite, taken: Container[str]) -> str:
    folder = file.path.rpartition("/")[0]
    for number in range(1000):
        digits = hashlib.sha256(
            f"{file.path} {file.sha256} {number}".encode("utf-8", "surrogateescape")
        ).hexdigest()
        name = f"PO{digits[:6].upper()}.TMP"
        path = f"{folder}/{name}" if folder else name
        if path not in taken and disk.at(path) is None:
            return path
    raise CouldNot(
        "copy-failed",
        "too many leftovers of interrupted exports",
        where=folder,
        fix="take the PO*.TMP files off",
    )


def _copy_failed(path: str, fix: str) -> CouldNot:
    return CouldNot(
        "copy-failed",
        f"{path} did not read back as it was written",
        where=path,
        fix=f"use another stick; {fix}",
    )
