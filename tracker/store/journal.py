"""What a check-in is about to write, so that the next run can tidy up after one that was killed.

A journal is a small file under the git directory, written before the first change and removed after the last. Its
writer holds a lock of the operating system on it: a journal that can be locked by somebody else belongs to a process
that is gone, and so is every git it had started: they hold the same lock, because one that lives a moment longer may
still land the commit. Such a check-in never was: either its commit landed, then nothing is left to do, or its record files are
taken away again and the entries it staged are put back. Programs in the working folder are never touched.
"""

import json
import os
import time
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from io import FileIO
from pathlib import Path

from tracker.errors import CouldNot
from tracker.store.held import try_hold
from tracker.store.tree import Entry

# where locks cannot be told, a journal this old has no living writer
_OLD_SECONDS = 3600


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """One path of a check-in: ``blob`` it is to hold (None: removed), ``before`` its entry in the index.

    ``made``: the file did not exist before and is a record, so it is ours to take away again.
    """

    blob: str | None
    before: Entry | None
    made: bool


class Journal:
    """The journal of one check-in, held while it runs."""

    def __init__(self, path: Path, file: FileIO, planned: Mapping[str, Planned]) -> None:
        self._path = path
        self._file = file
        self.planned = planned

    @classmethod
    def begin(cls, git_dir: Path, planned: Mapping[str, Planned]) -> "Journal":
        """Write a journal down to the disk and hold it; raises CouldNot (``not-written``), and then nothing is there."""
        path = git_dir / "proveout" / f"writing-{os.urandom(8).hex()}.json"
        file: FileIO | None = None
        try:
            path.parent.mkdir(exist_ok=True)
            file = path.open("x+b", buffering=0)
            while try_hold(file) is False:  # somebody looks whether this is a left-over; he lets go at once
                time.sleep(0.005)
            _write_all(file, _encode(planned))
            os.fsync(file.fileno())
        except OSError as fault:
            if file is not None:
                cls(path, file, {}).done()
            raise CouldNot(
                "not-written",
                f"nothing can be written in the repository: {fault.strerror or fault}",
                where=str(path.parent),
                fix="look at the free space and the permissions of that folder",
            ) from fault
        return cls(path, file, planned)

    @property
    def scratch(self) -> Path:
        """A file of this check-in's own, for the index its commit is built from; goes away with the journal."""
        return self._path.with_suffix(".index")

    @property
    def held(self) -> tuple[int, ...]:
        """The open file with the lock, for programs that act for this check-in: while one lives, it is not over."""
        return (self._file.fileno(),)

    def alone(self) -> bool:
        """Whether no git that was started for this check-in lives on; one may, where somebody insisted on stopping."""
        self._file.close()
        try:
            self._file = self._path.open("r+b", buffering=0)
        except OSError:
            return False
        return try_hold(self._file) is not False

    def release(self) -> None:
        """Let go of it; unless it is `done`, the next run tidies up after it."""
        self._file.close()

    def done(self) -> None:
        """The check-in is over, one way or the other: nothing is left to tidy up."""
        self._file.close()
        for file in (self.scratch, self.scratch.with_suffix(".index.lock"), self._path):
            with suppress(OSError):  # what cannot be taken away now, the next run takes away
                file.unlink(missing_ok=True)


def left_over(git_dir: Path) -> Iterator[Journal]:
    """Journals of check-ins that were killed, each held while the caller tidies up; `Journal.done` removes it."""
    folder = git_dir / "proveout"
    for path in sorted(folder.glob("writing-*.json")):
        with suppress(OSError):  # gone meanwhile, or held so that not even reading is allowed
            file = path.open("r+b", buffering=0)
            held = try_hold(file)
            if held is False or (held is None and _age(path) < _OLD_SECONDS):
                file.close()
                continue
            planned = _decode(file.readall())
            if planned is None and _age(path) < _OLD_SECONDS:
                file.close()  # not yet written: nothing has been done by it so far
                continue
            yield Journal(path, file, planned or {})


def _write_all(file: FileIO, data: bytes) -> None:
    """A plain file may take less than it is given when the disk is nearly full; the next write says why."""
    while data:
        data = data[file.write(data) or 0 :]


def _age(path: Path) -> float:
    return time.time() - path.stat().st_mtime


def _encode(planned: Mapping[str, Planned]) -> bytes:
    rows = {
        path: {
            "blob": one.blob,
            "before": [one.before.mode, one.before.blob] if one.before else None,
            "made": one.made,
        }
        for path, one in planned.items()
    }
    return json.dumps({"format": 1, "paths": rows}).encode("ascii")


def _decode(data: bytes) -> dict[str, Planned] | None:
    """What `_encode` wrote, or None for a file that was not written to its end."""
    try:
        rows = json.loads(data)["paths"]
        return {
            path: Planned(
                blob=row["blob"], before=Entry(*row["before"]) if row["before"] else None, made=row["made"]
            )
            for path, row in rows.items()
        }
    except (ValueError, KeyError, TypeError):
        return None
