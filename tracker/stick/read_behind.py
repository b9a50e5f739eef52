"""Files that are put through to the medium and read back while others are still being made and written.

Where deriving and shaping take longer than the medium, it would stand idle meanwhile and be asked for every byte once
more at the end. What is done with a lot of files is what is done at the end: through to the medium, then read back from
it and compared, never the other way round. What was found wrong, and what failed, is kept until somebody asks.
"""

from threading import Thread

from tracker.stick.disk import Disk, many
from tracker.stick.telling import Telling

LOT_BYTES = 1 << 25
"""Bytes of files that make a lot: few of them, since a medium empties its memory for each."""


class ReadBehind:
    """Lots of files of one disk, one lot at a time in a thread beside; told of each file by one thread at a time."""

    def __init__(self, disk: Disk, telling: Telling) -> None:
        """Args: disk: where the files lie. telling: of each file."""
        self._disk = disk
        self._telling = telling.beside()
        self._next: list[tuple[str, str]] = []
        self._bytes = 0
        self._thread: Thread | None = None
        self._over = False
        self._fault: BaseException | None = None
        self._sound: set[str] = set()
        self._wrong: set[str] = set()

    def written(self, path: str, sha256: str, size: int) -> None:
        """A file was written; once they make a lot, and the one before is through, it begins."""
        self._next.append((path, sha256))
        self._bytes += size
        if self._bytes < LOT_BYTES or (self._thread is not None and self._thread.is_alive()):
            return
        lot, self._next, self._bytes = self._next, [], 0
        self._thread = Thread(target=self._work, args=(lot,), daemon=True)
        self._thread.start()

    def end(self) -> None:
        """Wait for the lot that is on its way; raises what failed with any: OSError."""
        if self._thread is not None and self._thread.is_alive():
            self._telling.again()
        self._join()
        if self._fault is not None:
            raise self._fault

    def stop(self) -> None:
        """Give it up, and wait until nothing touches the files any more; never raises."""
        self._over = True
        self._join()

    def sound(self, path: str) -> bool | None:
        """After `end`: whether a file read back as it was written; None where it was not read back."""
        return False if path in self._wrong else True if path in self._sound else None

    def _join(self) -> None:
        if self._thread is not None:
            self._thread.join()

    def _work(self, lot: list[tuple[str, str]]) -> None:
        paths = [path for path, _ in lot]
        try:
            tell = self._telling.waited_for
            through = self._disk.sync(paths)
            for _ in tell("writing through", paths, through, counted=False, together=many(paths)):
                if self._over:
                    return
            back = tell("reading back", paths, self._disk.read_back(paths), counted=False)
            for (path, sha256), read in zip(lot, back, strict=True):
                (self._sound if read == sha256 else self._wrong).add(path)
                if self._over:
                    return
        except BaseException as fault:  # noqa: BLE001 - raised again by `end`, in the thread that asks
            self._fault = fault
