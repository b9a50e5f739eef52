"""Blobs that will be asked for soon, read and looked at beside what is going on.

A git of its own hands them out in the order they will be wanted; while one is looked at, the next is read. Whoever
wants one waits for it here. Each is hashed against its id as ever; what could not be read is left to whoever asks for
it, who then meets the same fault where it belongs.
"""

import os
from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from threading import Event, Thread

from tracker.store.git import Git
from tracker.store.objects import GitObject, Objects


class Beforehand:
    """The blobs with these ids, each kept until it is taken.

    Args:
        git: called in the repository.
        ids: in the order they will be wanted.
        told: is handed the bytes of each in some thread, before they can be taken; what it raises says nothing.
    """

    def __init__(self, git: Git, ids: Iterable[str], told: Callable[[bytes], object]) -> None:
        self._coming: dict[str, Future[GitObject | None]] = {one: Future() for one in ids}
        self._objects = Objects(git)
        self._told = told
        self._over = Event()
        self._thread = Thread(target=self._read, args=(list(self._coming),), daemon=True)
        self._thread.start()

    def take(self, blob_id: str) -> GitObject | None:
        """The blob, which is no longer kept then; None where it is not on its way, or could not be read."""
        coming = self._coming.pop(blob_id, None)
        return None if coming is None else coming.result()

    def end(self) -> None:
        """Read no more. What was not read by then is None for whoever waits."""
        self._over.set()
        self._thread.join()

    def _read(self, ids: list[str]) -> None:
        waiting = [self._coming[one] for one in ids]
        try:
            with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
                for coming, read in zip(waiting, self._objects.each(ids), strict=True):
                    if self._over.is_set():
                        break
                    pool.submit(self._look, coming, read)
        except Exception:  # noqa: BLE001 - it is met again, with its place, by whoever asks for what is missing
            self._over.set()
        finally:
            self._objects.close()
            for coming in waiting:
                if not coming.done():
                    coming.set_result(None)

    def _look(self, coming: "Future[GitObject | None]", read: GitObject) -> None:
        try:
            self._told(read.data)
        finally:
            coming.set_result(read)
