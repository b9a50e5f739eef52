"""A real terminal for a call: a pseudo-terminal of the system, read until the call ends or has said something."""

import contextlib
import os
import pty
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Mapping
from fcntl import ioctl
from pathlib import Path

LONGEST = 60.0
"""Seconds after which a call that still says nothing new is given up."""


class Terminal:
    """A call of the console script on a terminal of ``columns`` by ``rows``."""

    def __init__(
        self,
        folder: Path,
        *words: str,
        columns: int = 80,
        rows: int = 24,
        world: Mapping[str, str] | None = None,
    ) -> None:
        self._master, slave = pty.openpty()
        ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self._call = subprocess.Popen(
            [sys.executable, "-m", "tracker", *words],
            cwd=folder,
            env={**os.environ, "TERM": "xterm-256color", **(world or {})},
            stdin=slave,
            stdout=slave,
            stderr=slave,
            start_new_session=True,
            preexec_fn=lambda: ioctl(0, termios.TIOCSCTTY, 0),  # so that Ctrl-C reaches it
        )
        os.close(slave)
        self.said = ""

    def until(self, words: str, times: int = 1) -> str:
        """Everything it wrote until ``words`` came ``times`` times."""
        while self.said.count(words) < times:
            assert self._more(), f"it ended without {words!r}:\n{self.said}"
        return self.said

    def press(self, keys: str) -> None:
        """Type ``keys``; ``\\x03`` is Ctrl-C."""
        os.write(self._master, keys.encode())

    def end(self) -> tuple[int, str]:
        """Exit status and all it wrote."""
        while self._more():
            pass
        status = self._call.wait(timeout=LONGEST)
        os.close(self._master)
        return status, self.said

    def _more(self) -> bool:
        ends = time.monotonic() + LONGEST
        while time.monotonic() < ends:
            ready, _, _ = select.select([self._master], [], [], 0.2)
            if ready:
                read = b""
                with contextlib.suppress(OSError):  # the other side was closed: the call has ended
                    read = os.read(self._master, 65536)
                self.said += read.decode(errors="replace").replace("\r\n", "\n")
                return bool(read)
        raise AssertionError(f"nothing more was said in {LONGEST} s:\n{self.said}")
