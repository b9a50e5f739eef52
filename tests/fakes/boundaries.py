"""The system calls of `tracker.stick.disk` that write, each of which can be looked at or made to fail.

Put in the place of its ``os``: everything else goes through as it is. A write is done in two halves, so that a file
half written is among the states between them.
"""

import errno
import os
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

Step = Callable[[str], None]
WORDS = {
    errno.ENOSPC: "No space left on device",
    errno.EROFS: "Read-only file system",
    errno.EIO: "Input/output error",
    errno.ENOENT: "No such file or directory",
    errno.ENODEV: "No such device",
}


class WatchedOs:
    """``os`` whose writing calls are told before (``before``, which may raise) and after (``after``)."""

    def __init__(self, before: Step = lambda _: None, after: Step = lambda _: None) -> None:
        self._before, self._after = before, after
        self._lock = threading.RLock()

    def __getattr__(self, name: str) -> Any:
        return getattr(os, name)

    def open(self, path: Any, flags: int, mode: int = 0o777) -> int:
        if not flags & os.O_CREAT:
            return os.open(path, flags, mode)
        return self._told(f"open {Path(path).name}", lambda: os.open(path, flags, mode))

    def write(self, handle: int, data: Any) -> int:
        half = len(data) // 2
        done = self._told("write half", lambda: os.write(handle, data[:half])) if half else 0
        return done + self._told("write rest", lambda: os.write(handle, data[half:]))

    def fsync(self, handle: int) -> None:
        self._told("fsync", lambda: os.fsync(handle))

    def replace(self, old: Any, new: Any) -> None:
        self._told(f"rename {Path(new).name}", lambda: os.replace(old, new))  # noqa: PTH105 - the call itself

    def mkdir(self, path: Any) -> None:
        self._told(f"mkdir {Path(path).name}", lambda: os.mkdir(path))  # noqa: PTH102 - the call itself

    def rmdir(self, path: Any) -> None:
        self._told(f"rmdir {Path(path).name}", lambda: os.rmdir(path))  # noqa: PTH106 - the call itself

    def unlink(self, path: Any) -> None:
        self._told(f"unlink {Path(path).name}", lambda: os.unlink(path))  # noqa: PTH108 - the call itself

    def _told(self, what: str, do: Callable[[], Any]) -> Any:
        with self._lock:  # several files are synced at once; a state is looked at while nothing moves
            self._before(what)
            made = do()
            self._after(what)
            return made


class FailsFrom:
    """A medium that answers ``number`` from the ``step``-th writing call on: for that call alone, or for good."""

    def __init__(self, step: int, number: int, *, for_good: bool) -> None:
        self.step, self.number, self.for_good = step, number, for_good
        self.seen = 0
        self.failed: list[str] = []

    def __call__(self, what: str) -> None:
        """To be handed to `WatchedOs` as ``before``."""
        self.seen += 1
        if self.seen == self.step or (self.for_good and self.seen > self.step):
            self.failed.append(what)
            raise OSError(self.number, WORDS[self.number])
