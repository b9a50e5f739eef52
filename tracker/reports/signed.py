"""What a screen says of signatures: of what was just put down, and of what is on record."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tracker.reports.table import wrapped

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.ports_sign import Told


def signed_text(told: "Sequence[Told]", console: "Console") -> None:
    """One line a person and key; nothing in a shop where nobody signs."""
    for line in dict.fromkeys(_line(one) for one in told if not one.quiet):
        wrapped(console, line)


def _line(one: "Told") -> str:
    if one.key is not None:
        return f"{one.words} of {one.initials}"
    return f"unsigned: {one.why} (proveout explain unsigned)"
