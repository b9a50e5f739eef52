"""What is told of a stick at work: which file it is, and how much of a long one.

While they wait for their names, files lie there under temporary ones; they are told by the names they are to have.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import TypeVar

from tracker.services.progress import Tell, bytes_told, quiet

T = TypeVar("T")


class Telling:
    """Tells of files by their paths on one medium; from any thread."""

    def __init__(self, tell: Tell = quiet) -> None:
        """Args: tell: who is told."""
        self.tell = tell
        self._called: dict[str, str] = {}

    def call(self, temporary: str, path: str) -> None:
        """What lies at ``temporary`` is to be told as ``path``."""
        self._called[temporary] = path

    def file(self, doing: str, path: str) -> None:
        """``doing`` begins with this file, within what is counted."""
        self.tell(self._words(doing, path), 0, 0)

    def counted(self, doing: str, path: str, done: int, total: int) -> None:
        """The same, and how many of how many are done."""
        self.tell(self._words(doing, path), done, total)

    def waited_for(
        self,
        doing: str,
        paths: Sequence[str],
        results: Iterable[T],
        *,
        counted: bool = True,
        together: bool = False,
    ) -> Iterator[T]:
        """The results of these paths in their order, each told before it is waited for.

        ``together``: for the first one the medium does all of them at once, so it is told of how many, and the last.
        """
        total, coming = len(paths), iter(results)
        for done, path in enumerate(paths):
            words = self._words(doing, path)
            if together and not done:
                words = f"{doing} {total:,} files, the last {self._called.get(paths[-1], paths[-1])}"
            self.tell(words, done if counted else 0, total if counted else 0)
            yield next(coming)
        next(coming, None)  # what gave them may end

    def moved(self, doing: str, path: str, done: int, size: int) -> None:
        """So many bytes of a long file are done."""
        bytes_told(self._words(doing, path), done, size, self.tell)

    def _words(self, doing: str, path: str) -> str:
        return f"{doing} {self._called.get(path, path)}"
