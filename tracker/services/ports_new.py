"""What drafting a job needs of the working folder beside reading it."""

from collections.abc import Sequence
from typing import Protocol

from tracker.records.job import Job
from tracker.services.ports import NewFile


class Drawer(Protocol):
    """Puts new files into the working folder; nothing that lies there is written over."""

    def place_of(self, name: str) -> str | None:
        """The path in the repository of a file as a person named it, None for one that lies outside."""

    def reads_as(self, path: str, data: bytes) -> Job:
        """The job these bytes would be at ``path``; raises BadCall with file:line where they are none."""

    def put(self, files: Sequence[NewFile]) -> None:
        """Write new files, all of them or none.

        Raises BadCall (``file-exists``) when one of them is there with other bytes, CouldNot (``not-written``).
        """

    def take_back(self, files: Sequence[NewFile]) -> None:
        """Take files away again that `put` wrote just now, with the folders it made; never other bytes. Raises nothing."""

    def grow(self, path: str, before: bytes, more: bytes) -> None:
        """Add ``more`` at the end of a file that holds ``before``.

        Raises Refused (``moved``) when it holds something else by now, CouldNot (``not-written``).
        """
