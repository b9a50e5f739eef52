"""A program started without the ``subprocess`` module, which takes as long to import as Python to start.

Only what the local hook needs: in the folder in hand, with pipes on all three streams, on systems that have
``posix_spawn``. `Spawned` has the attributes of ``subprocess.Popen`` that are used here and means the same by them.
"""

import os
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress

from tracker.typed import IO

_CHUNK = 1 << 16


def can_spawn() -> bool:
    """Whether programs can be started so."""
    return sys.platform != "win32" and hasattr(os, "posix_spawn")


if sys.platform != "win32":
    TYPE_CHECKING = False  # as in typing
    if TYPE_CHECKING:
        from signal import SIGKILL, SIGPIPE, SIGXFSZ
    else:
        from _signal import SIGKILL, SIGPIPE, SIGXFSZ  # plain numbers; making names of them takes a while

    class Spawned:
        """A program that runs beside this one."""

        def __init__(self, command: list[str | bytes], environment: Mapping[str, str]) -> None:
            """Start it; ``command`` opens with its full path. Raises OSError."""
            ends: list[int] = []
            try:
                for _ in range(3):
                    ends += _pipe()
                its = (ends[0], ends[3], ends[5])
                self.pid = _spawn(command, environment, its)
            except BaseException:
                for end in ends:
                    os.close(end)
                raise
            for end in its:
                os.close(end)
            self.returncode: int | None = None
            self.stdin: IO[bytes] | None = open(ends[1], "wb")  # noqa: PTH123, SIM115 - a pipe, open while it runs
            self.stdout: IO[bytes] | None = open(ends[2], "rb")  # noqa: PTH123, SIM115
            self.stderr: IO[bytes] | None = open(ends[4], "rb")  # noqa: PTH123, SIM115

        def communicate(self) -> tuple[bytes, bytes]:
            """Everything it still says on both streams, once it has ended; its input is closed."""
            from select import select

            self._close(self.stdin)
            said: dict[int, list[bytes]] = {
                stream.fileno(): [] for stream in (self.stdout, self.stderr) if stream is not None
            }
            waiting = list(said)
            while waiting:  # whichever speaks: it would stop for ever at a pipe that nobody empties
                for end in select(waiting, [], [])[0]:
                    chunk = os.read(end, _CHUNK)
                    said[end].append(chunk)
                    if not chunk:
                        waiting.remove(end)
            self.wait()
            out, faults = (b"".join(chunks) for chunks in said.values())
            self._close(self.stdout)
            self._close(self.stderr)
            return out, faults

        def wait(self) -> int:
            """Wait for its end; its exit status, below 0 for a signal."""
            if self.returncode is None:
                self.returncode = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
            return self.returncode

        def kill(self) -> None:
            """End it, if it still runs."""
            if self.returncode is None:
                with suppress(ProcessLookupError):
                    os.kill(self.pid, SIGKILL)

        @staticmethod
        def _close(stream: IO[bytes] | None) -> None:
            if stream is not None:
                with suppress(OSError):  # it has ended already and did not take everything
                    stream.close()

    def _spawn(command: list[str | bytes], environment: Mapping[str, str], its: Sequence[int]) -> int:
        """Start it with these as its three streams; signals Python ignores act on it as on any program."""
        actions = [(os.POSIX_SPAWN_DUP2, end, place) for place, end in enumerate(its)]
        return os.posix_spawn(
            command[0], command, environment, file_actions=actions, setsigdef=(SIGPIPE, SIGXFSZ)
        )

    def _pipe() -> tuple[int, int]:
        """A pipe whose ends are none of the three streams of a program, even if one of ours was closed."""
        spare: list[int] = []
        while True:
            ends = os.pipe()
            if min(ends) > 2:
                break
            spare += ends
        for end in spare:
            os.close(end)
        return ends
