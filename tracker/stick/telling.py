"""What is told of a stick at work: which file it is, and how much of a long one.

While they wait for their names, files lie there under temporary ones; they are told by the names they are to have.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import TypeVar

from tracker.services.progress import Tell, bytes_told, quiet

T = TypeVar("T")


class Telling:
    """Tells of files by their paths on one medium; from any thread."""

    def __init__(self, tell: Tell = quiet, called: dict[str, str] | None = None) -> None:
        """Args: tell: who is told. called: names that are known already."""
        self._tell = tell
        self._called: dict[str, str] = {} if called is None else called
        self._last = ""

    def beside(self) -> "Telling":
        """Another one, of the same files and to the same ears, for what is done beside."""
        return Telling(self._tell, self._called)

    def again(self) -> None:
        """What was told last is waited for now, whatever was told elsewhere since."""
        if self._last:
            self.tell(self._last, 0, 0)

    def tell(self, what: str, done: int, total: int) -> None:
        """Tell in whole words."""
        self._last = what
        self._tell(what, done, total)

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
