"""Blobs that will be asked for soon, read and looked at beside what is going on.

A git of its own hands them out in the order they will be wanted; while one is looked at, the next is read. Whoever
wants one waits for it here. Only so many bytes are kept: whoever takes none of them holds up nobody, for what somebody
waits for is read in any case. Each is hashed against its id as ever; what could not be read is left to whoever asks for
it, who then meets the same fault where it belongs.
"""

import os
from collections import deque
from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from threading import Condition, Thread

from tracker.store.git import Git
from tracker.store.objects import GitObject, Objects

KEPT_BYTES = 1 << 25
"""Bytes of blobs that nobody has taken yet, from which on no more are read unless somebody waits for them."""


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
        self._over = False
        self._kept = 0
        self._unread = set(self._coming)
        self._wanted: set[str] = set()
        self._changed = Condition()
        self._thread = Thread(target=self._read, args=(list(self._coming),), daemon=True)
        self._thread.start()

    def take(self, blob_id: str) -> GitObject | None:
        """The blob, which is no longer kept then; None where it is not on its way, or could not be read."""
        coming = self._coming.pop(blob_id, None)
        if coming is None:
            return None
        self._tell(wanted=blob_id)
        taken = coming.result()
        self._tell(taken=0 if taken is None else len(taken.data))
        return taken

    def end(self) -> None:
        """Read no more. What was not read by then is None for whoever waits."""
        self._tell(over=True)
        self._thread.join()

    def _tell(self, *, wanted: str | None = None, taken: int = 0, over: bool = False) -> None:
        """Let the reader know what changed."""
        with self._changed:
            if wanted in self._unread:
                self._wanted.add(wanted)
            self._kept -= taken
            self._over = self._over or over
            self._changed.notify()

    def _goes_on(self, blob_id: str, size: int) -> bool:
        """Whether to read on, once there is room or somebody waits for what is still to be read."""
        with self._changed:
            self._unread.discard(blob_id)
            self._wanted.discard(blob_id)
            self._kept += size
            self._changed.wait_for(lambda: self._over or self._wanted or self._kept < KEPT_BYTES)
            return not self._over

    def _read(self, ids: list[str]) -> None:
        waiting = deque(
            self._coming[one] for one in ids
        )  # taken from the front: nothing is held that was taken
        try:
            with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
                for place, read in enumerate(self._objects.each(ids)):
                    pool.submit(self._look, waiting[0], read)
                    waiting.popleft()
                    if not self._goes_on(ids[place], len(read.data)):
                        break
        # it is met again, with its place, by whoever asks for what is missing; so is a Ctrl-C this thread's git heard of
        except (Exception, KeyboardInterrupt):  # noqa: BLE001
            self._over = True
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
