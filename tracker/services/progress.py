"""How a use case tells how far it is, without knowing who looks: what is being done, how much of it, of how much.

``tell(what, done, total)`` counts. With a total of 0 it only says what is being done within that count: another file, or a
long one of which ``done`` thousandths are done. `phase` begins something that is not counted.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Tell = Callable[[str, int, int], None]
T = TypeVar("T")

UNCOUNTED = -1
THOUSAND = 1000
MB = 1_000_000


def quiet(what: str, done: int, total: int) -> None:
    """Tell nobody."""


def told(items: Sequence[T], what: str | Callable[[T], str], tell: Tell) -> Iterator[T]:
    """The same items, each told as it is asked for; ``what``: what is done, or how each of them is called."""
    for done, item in enumerate(items):
        tell(what if isinstance(what, str) else what(item), done, len(items))
        yield item


def phase(tell: Tell, what: str) -> None:
    """Begin what is not counted; the count of what was before is over."""
    tell(what, 0, UNCOUNTED)


def bytes_told(what: str, done: int, size: int, tell: Tell) -> None:
    """How much of one long file is done, within what is counted."""
    tell(f"{what}, {done // MB:,} of {size // MB:,} MB", THOUSAND * done // max(size, 1), 0)


def pieces_told(data: bytes, what: str, tell: Tell, size: int) -> Iterator[bytes]:
    """Bytes in pieces of ``size``, each told as it is asked for."""
    for at in range(0, len(data), size):
        bytes_told(what, at, len(data), tell)
        yield data[at : at + size]
