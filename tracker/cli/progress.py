"""How far a long call is, on one line of standard error, and only where a person looks at a terminal."""

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TextIO

from tracker.services.progress import Tell, quiet

_AFTER = 1.0
_EVERY = 0.1
_BAR = 24


@contextmanager
def progress(
    *, stream: TextIO | None = None, now: Callable[[], float] = time.monotonic, hidden: bool = False
) -> Iterator[Tell]:
    """What to hand a use case; the line is shown from the second second on and taken away at the end."""
    out = sys.stderr if stream is None else stream
    if hidden or not out.isatty():
        yield quiet
        return
    line = _Line(out, now)
    try:
        yield line.tell
    finally:
        line.clear()


class _Line:
    """The line, written over itself ten times a second at most."""

    def __init__(self, out: TextIO, now: Callable[[], float]) -> None:
        self._out = out
        self._now = now
        self._next = now() + _AFTER
        self._wide = 0

    def tell(self, what: str, done: int, total: int) -> None:
        """Show it, if it is time to."""
        at = self._now()
        if at < self._next or total <= 0:
            return
        self._next = at + _EVERY
        full = min(_BAR, _BAR * done // total)
        text = f"{what} [{'#' * full}{'.' * (_BAR - full)}] {done} of {total}"
        self._out.write(f"\r{text.ljust(self._wide)}")
        self._out.flush()
        self._wide = max(self._wide, len(text))

    def clear(self) -> None:
        """Take the line away."""
        if self._wide:
            self._out.write(f"\r{' ' * self._wide}\r")
            self._out.flush()
