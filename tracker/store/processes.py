"""Tasks that only look, done in processes of their own: as many as there are processors for.

Each process is a fork: it has all that was read by now, and hands back nothing but what its tasks answer. They take the
next task from one pipe, in which all of them lie from the beginning. Whatever does not come back (a task that raised, a
process that was killed) is done here once more, so that nothing is missing and an error is raised where it belongs.
Without fork, or on a system that does not bear it beside threads, the tasks are done here one after the other.
"""

import gc
import os
import pickle
import select
import signal
import struct
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from typing import Generic, NoReturn, TypeVar

T = TypeVar("T")
Task = Callable[[], T]

FEWEST = 12
"""Tasks that are worth beginning processes for."""
_MOST = 8
"""Processes at most: each holds a copy of what it changes."""
_PLACE = struct.Struct("<I")
_HEAD = struct.Struct("<IQ")
_ROOM = 4096
"""Bytes that fit in any pipe."""


def in_processes(tasks: Sequence[Task[T]], apart: Callable[[], None]) -> Iterator[tuple[int, T]]:
    """What each task answers, with its place, as they are done.

    Args:
        tasks: what to do; answers must be such that they can be pickled.
        apart: lets go, in a new process, of what it must not share with this one.
    """
    left = dict(enumerate(tasks))
    count = min(_processors(), _MOST)
    if count > 1 and FEWEST <= len(tasks) <= _ROOM // _PLACE.size:
        for place, answer in _forked(tasks, count, apart):
            del left[place]
            yield place, answer
    for place, task in left.items():
        yield place, task()


@contextmanager
def beside(task: Task[T], apart: Callable[[], None]) -> Iterator[Task[T]]:
    """One task, begun in a process of its own while this one goes on.

    What is handed out waits for the answer; whoever leaves the block without it, by Ctrl-C say, ends the task. What
    cannot be done elsewhere is done when it is asked for. ``apart`` as of `in_processes`.
    """
    if _processors() == 1:
        yield task
        return
    with closing(_Crowd([task], apart, deaf=False)) as crowd:
        crowd.begin(1)

        def answer() -> T:
            found: list[T] = [answer for _, answer in crowd.answers()]
            return found[0] if found else task()

        yield answer


def _processors() -> int:
    """How many processors may be used; 1 where forking is no way."""
    if not hasattr(os, "sched_getaffinity"):
        return 1
    return len(os.sched_getaffinity(0)) if sys.platform == "linux" else 1


def _forked(tasks: Sequence[Task[T]], count: int, apart: Callable[[], None]) -> Iterator[tuple[int, T]]:
    gc.collect()
    gc.freeze()  # what is here already is not gone through, and so not copied, by every process
    try:
        with closing(_Crowd(tasks, apart)) as crowd:
            crowd.begin(count)
            yield from crowd.answers()
    finally:
        gc.unfreeze()


class _Crowd(Generic[T]):
    """Processes that work on tasks. Close it: whoever is still at it then is ended."""

    def __init__(self, tasks: Sequence[Task[T]], apart: Callable[[], None], *, deaf: bool = True) -> None:
        """Args as of `in_processes`. deaf: Ctrl-C is not for them; who began them ends them."""
        self._tasks = tasks
        self._apart = apart
        self._deaf = deaf
        self._children: dict[int, int] = {}  # the pipe its answers come through -> process
        self._todo, fill = os.pipe()
        os.write(fill, b"".join(map(_PLACE.pack, range(len(tasks)))))
        os.close(fill)

    def begin(self, count: int) -> None:
        """So many processes; where no more of them or no more files are to be had, those begun do what they can."""
        with suppress(OSError):
            for _ in range(count):
                answers, child = self._begun()
                self._children[answers] = child

    def answers(self) -> Iterator[tuple[int, T]]:
        """As they come, until every process has done what it could."""
        return _answers(list(self._children))

    def close(self) -> None:
        """Take leave of all."""
        os.close(self._todo)
        for answers, child in self._children.items():
            with suppress(ProcessLookupError):
                os.kill(child, signal.SIGKILL)  # it only looks, and has ended unless we leave early
            os.waitpid(child, 0)
            os.close(answers)

    def _begun(self) -> tuple[int, int]:
        """One more process: the pipe its answers come through, and its number. Raises OSError where none can be had."""
        answers, tell = os.pipe()
        try:
            child = os.fork()
        except OSError:
            os.close(answers)
            raise
        else:
            if child == 0:
                self._work(tell, answers)
        finally:
            os.close(tell)
        return answers, child

    def _work(self, tell: int, own: int) -> NoReturn:
        """The life of one process; it never comes back into the code that began it."""
        try:
            signal.signal(signal.SIGINT, signal.SIG_IGN if self._deaf else signal.SIG_DFL)
            signal.signal(signal.SIGPIPE, signal.SIG_DFL)  # when nobody listens any more
            for one in (own, *self._children):
                os.close(one)
            self._apart()
            while place := os.read(self._todo, _PLACE.size):
                (at,) = _PLACE.unpack(place)
                _tell(tell, at, self._tasks[at])
        finally:
            os._exit(0)


def _tell(tell: int, at: int, task: Task[T]) -> None:
    try:
        answer = pickle.dumps(task(), pickle.HIGHEST_PROTOCOL)
    except Exception:  # noqa: BLE001 - it is done, and raised, once more where somebody can be told
        return
    left = memoryview(_HEAD.pack(at, len(answer)) + answer)
    while left:
        left = left[os.write(tell, left) :]


def _answers(pipes: list[int]) -> Iterator[tuple[int, T]]:
    """Answers as they come, until every process has closed its end."""
    held = {pipe: bytearray() for pipe in pipes}
    poll = select.poll()
    for pipe in pipes:
        poll.register(pipe, select.POLLIN)
    while held:
        for pipe, _ in poll.poll():
            chunk = os.read(pipe, 1 << 16)
            if not chunk:
                poll.unregister(pipe)
                del held[pipe]
                continue
            held[pipe] += chunk
            yield from _whole(held[pipe])


def _whole(held: bytearray) -> Iterator[tuple[int, T]]:
    """The answers that have come whole, taken out."""
    while len(held) >= _HEAD.size:
        at, size = _HEAD.unpack_from(held)
        if len(held) < _HEAD.size + size:
            return
        answer = pickle.loads(held[_HEAD.size : _HEAD.size + size])  # noqa: S301 - by a process of our own
        del held[: _HEAD.size + size]
        yield at, answer
