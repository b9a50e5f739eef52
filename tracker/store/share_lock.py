"""Who moves a clone at the moment: one share at a time, and whoever settles what a killed one left."""

import time
from io import FileIO
from pathlib import Path

from tracker.store.held import try_hold

_NAME = "share.lock"


class ShareLock:
    """The lock of one clone. A git that is started with `held` keeps it as long as it lives."""

    def __init__(self, git_dir: Path) -> None:
        self.path = git_dir / "proveout" / _NAME
        self._file: FileIO | None = None

    def take(self, patience: float = 0.0) -> bool:
        """Whether it could be had within so many seconds; raises OSError where nothing can be written there.

        Who has it is the only one to write the notes of a share, so what a killed one had not finished goes away.
        """
        self.path.parent.mkdir(exist_ok=True)
        self._file = FileIO(self.path, "a+")
        end = time.monotonic() + patience
        while try_hold(self._file) is False:
            if time.monotonic() >= end:
                self.release()
                return False
            time.sleep(0.02)
        for part in self.path.parent.glob(".share-*.part"):
            part.unlink(missing_ok=True)
        return True

    @property
    def held(self) -> tuple[int, ...]:
        """The open file with the lock, for programs that act for its holder."""
        return (self._file.fileno(),) if self._file is not None else ()

    def release(self) -> None:
        """Let go of it."""
        if self._file is not None:
            self._file.close()
            self._file = None
