"""Work on many things, a few of them ahead of what is asked for, in their order.

For work that lets another thread run while it waits or counts: reading a medium, digests, the compiled scanner. Never
more than a few results are held, so memory stays flat however many things there are.
"""

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

A = TypeVar("A")
B = TypeVar("B")

AT_ONCE = 2
HELD = 4
"""Results that may wait to be asked for."""


def ahead(do: Callable[[A], B], items: Iterable[A]) -> Iterator[B]:
    """``do(item)`` for every item, in their order; what it raises is raised where its result is asked for."""
    pool = ThreadPoolExecutor(AT_ONCE)
    waiting: deque[Future[B]] = deque()
    try:
        for item in items:
            waiting.append(pool.submit(do, item))
            if len(waiting) > HELD:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:
        pool.shutdown(cancel_futures=True)
