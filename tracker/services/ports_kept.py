"""Answers kept from one call to the next, for use cases that only show something."""

from collections.abc import Iterable, Mapping, Sequence

from tracker.typed import Protocol


class KeptAnswers(Protocol):
    """The index of a clone. It is never the truth: what is not there, or not whole, is worked out."""

    def state(self) -> str:
        """A name for all references and for where the clone stands; whatever is read from it hangs on these."""

    def files_below(self, folder: str) -> Mapping[str, Sequence[str]]:
        """Every folder straight below one, as it was committed last -> a line for each file below it, that says all it holds."""

    def get(self, kind: str, keys: Iterable[str]) -> Mapping[str, bytes]:
        """What is kept under these keys."""

    def put(self, kind: str, rows: Mapping[str, bytes], *, alone: bool = False) -> None:
        """Keep these; ``alone``: and nothing else of this kind."""
