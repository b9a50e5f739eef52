"""A program as part of an operation."""

from tracker.frozen import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgramText:
    """A program that belongs to an operation: path from the repository's root, file name, first O number, bytes."""

    path: str
    name: str
    number: int | None
    data: bytes
