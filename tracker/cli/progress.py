"""How far a long call is, on one line of standard error, and only where a person looks at a terminal.

The line is drawn by the clock, not by who tells: what was told last stays to be seen, with the seconds it has taken,
while the call waits for a medium and can tell nothing. Whoever prints or asks meanwhile takes the line away first
(`hush`); it comes back with the next thing that is told.
"""

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import TextIO

from tracker.services.progress import THOUSAND, Tell, quiet

_AFTER = 1.0
_EVERY = 0.1
_BAR = 24
_STILL = 2
"""Seconds after which it is said how long the same thing has taken."""
_COLUMNS = 80
_FEWEST = 24
"""Letters of what is being done that are worth more than the bar."""

_State = tuple[tuple[str, int], tuple[int, int]]
"""What is being done and how many thousandths of it; how many of how many are done."""
_NOTHING: _State = (("", 0), (0, 0))

_shown: "list[_Line]" = []


@contextmanager
def progress(
    *,
    stream: TextIO | None = None,
    now: Callable[[], float] = time.monotonic,
    hidden: bool = False,
    every: float = _EVERY,
) -> Iterator[Tell]:
    """What to hand a use case; the line is shown from the second second on and taken away at the end."""
    out = sys.stderr if stream is None else stream
    if hidden or not out.isatty():
        yield quiet
        return
    from threading import Event, Thread

    line, over = _Line(out, now), Event()

    def tick() -> None:
        with suppress(OSError, ValueError):  # nobody looks any more
            while not over.wait(every):
                line.draw()

    drawing = Thread(target=tick, daemon=True)
    drawing.start()
    _shown.append(line)
    try:
        yield line.tell
    finally:
        _shown.remove(line)
        over.set()
        drawing.join()
        line.clear()


def hush() -> None:
    """Take the line away until something is told again: the screen is wanted for something else."""
    for line in _shown:
        line.clear()


@contextmanager
def hushed() -> Iterator[None]:
    """Away while this lasts, and then what it was again."""
    were = [(line, line.state) for line in _shown]
    hush()
    try:
        yield
    finally:
        for line, state in were:
            line.state = state


class _Line:
    """The line, written over itself.

    Telling takes no lock, so that any thread may, and a process that was forked meanwhile: what is said within a count
    leaves the count alone, so that no thread puts back what another one has moved on.
    """

    def __init__(self, out: TextIO, now: Callable[[], float]) -> None:
        from threading import Lock

        self._out = out
        self._now = now
        self._first = now() + _AFTER
        self._what, self._count = _NOTHING
        self._drawn = _NOTHING
        self._since = 0.0
        self._wide = 0
        self._one_at_a_time = Lock()

    def tell(self, what: str, done: int, total: int) -> None:
        """What is being done from now on; a total of 0 leaves the count as it is."""
        if total:
            self._count = (done, max(total, 0))
        self._what = (what, 0 if total else done)

    @property
    def state(self) -> _State:
        """What was told last."""
        return self._what, self._count

    @state.setter
    def state(self, state: _State) -> None:
        self._what, self._count = state

    def draw(self) -> None:
        """Show what was told last, if it is time to."""
        with self._one_at_a_time:
            at = self._now()
            state = self.state
            if at < self._first or not state[0][0]:
                return
            if state != self._drawn:
                self._drawn, self._since = state, at
            text = _fitting(state, int(at - self._since), _columns(self._out))
            self._write(f"\r{text.ljust(self._wide)}")
            self._wide = len(text)

    def clear(self) -> None:
        """Take the line away."""
        self.state = _NOTHING
        with self._one_at_a_time:
            wide, self._wide, self._drawn = self._wide, 0, _NOTHING
            if wide:
                with suppress(OSError, ValueError):
                    self._write(f"\r{' ' * wide}\r")

    def _write(self, text: str) -> None:
        self._out.write(text)
        self._out.flush()


def _bar(done: int, total: int, part: int) -> str:
    """``[####....]``, with as much of the next thing as is done of it; nothing where nothing is counted."""
    if not total:
        return ""
    full = min(_BAR, _BAR * (THOUSAND * done + part) // (THOUSAND * total))
    return f" [{'#' * full}{'.' * (_BAR - full)}]"


def _fitting(state: _State, still: int, columns: int) -> str:
    """The line in so many columns, which it must not fill: what is on the next one would stay."""
    (what, part), (done, total) = state
    bar = _bar(done, total, part)
    figures = f" {done:,} of {total:,}" if total else ""
    seconds = f", {still} s" if still >= _STILL else ""
    room = columns - 1 - len(seconds) - len(figures)
    if room - len(bar) < min(len(what), _FEWEST):
        bar = ""
    return f"{_cut(_plain(what), room - len(bar))}{seconds}{bar}{figures}"[: columns - 1]


def _plain(text: str) -> str:
    """Without what would steer the terminal: a stick's files may be called anything."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def _cut(text: str, room: int) -> str:
    """At most so many letters: the verb in front, and the end, where a file's own name stands."""
    if len(text) <= room:
        return text
    end = max(room - 10, 0)
    return f"{text[:8]}..{text[len(text) - end :]}" if end else text[: max(room, 0)]


def _columns(out: TextIO) -> int:
    with suppress(OSError, ValueError):
        return os.get_terminal_size(out.fileno()).columns or _COLUMNS
    return _COLUMNS
