"""What a report in text needs of a console: a width, and lines printed as they are."""

from typing import Protocol

ACCENT = "bold red"
"""The one accent there is, for what stops; a word always says the same."""


class Screen(Protocol):
    """A console; that of the rich library is one, and so is the plain one of the quick verbs."""

    @property
    def width(self) -> int:
        """Columns."""

    def print(
        self,
        *objects: object,
        emoji: bool | None = None,
        markup: bool | None = None,
        highlight: bool | None = None,
        soft_wrap: bool | None = None,
        style: str | None = None,
    ) -> None:
        """Write one line; ``style`` as `ACCENT` is: seen in colour where there is colour, else nothing."""
