"""How a use case tells how far it is, without knowing who looks: what is being done, how much of it, of how much."""

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Tell = Callable[[str, int, int], None]
T = TypeVar("T")


def quiet(what: str, done: int, total: int) -> None:
    """Tell nobody."""


def told(items: Sequence[T], what: str, tell: Tell) -> Iterator[T]:
    """The same items, each told as it is asked for."""
    for done, item in enumerate(items):
        tell(what, done, len(items))
        yield item
