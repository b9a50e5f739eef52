"""Digests of a long program, summed up in a thread of their own while the scanner reads on.

The scanner and OpenSSL both let another thread run while they work, so what is handed over costs the reader hardly
anything on a machine with two cores. A short program never starts a thread, nor loads what one needs.
"""

from tracker.digest import Sha256

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from collections.abc import Callable
    from queue import SimpleQueue
    from threading import Thread

    Work = tuple[Sha256, bytes]

LONG = 1 << 22
"""Bytes of pieces handed over from which on a thread is started."""
AHEAD = 8
"""Pieces that may wait; whoever hands over one more waits instead, so that memory stays flat."""


class Beside:
    """Takes pieces for several digests, each digest's in the order they come."""

    def __init__(self) -> None:
        self._size = 0
        self._thread: Thread | None = None
        self._waiting: SimpleQueue[Work | None]
        self._room: SimpleQueue[None]
        self._fault: BaseException | None = None

    def update(self, digest: Sha256, piece: bytes) -> None:
        """Have ``piece`` taken into ``digest``, now or soon; it is in for certain after `end`."""
        if self._thread is None:
            self._size += len(piece)
            if self._size < LONG:
                digest.update(piece)
                return
            self._begin()
        self._room.get()
        self._waiting.put((digest, piece))

    def end(self) -> None:
        """Wait until everything is taken in; to be called in any case, and once.

        Raises:
            MemoryError: or whatever else came up in the thread.
        """
        if self._thread is None:
            return
        self._waiting.put(None)
        self._thread.join()
        if self._fault is not None:
            raise self._fault

    def _begin(self) -> None:
        from queue import SimpleQueue
        from threading import Thread

        self._waiting, self._room = SimpleQueue(), SimpleQueue()
        for _ in range(AHEAD):
            self._room.put(None)
        self._thread = Thread(target=self._work, daemon=True)
        self._thread.start()

    def _work(self) -> None:
        take: Callable[[], Work | None] = self._waiting.get
        while (work := take()) is not None:
            if self._fault is None:
                try:
                    work[0].update(work[1])
                except BaseException as fault:  # noqa: BLE001 - raised again where the digest is asked for
                    self._fault = fault
            self._room.put(None)
