"""Journals whose lines hold each other: one JSON object a line, with the SHA-256 of the line before it.

A line that was changed, put in or taken out breaks the chain where it stands. That the last ones are missing the chain
cannot show; who keeps a journal has to know its end by other means.
"""

import json
from collections.abc import Iterator, Mapping, Sequence

from tracker.digest import sha256_of
from tracker.frozen import dataclass

Said = Mapping[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A line read again: its number from 1, what it says (None: it cannot be read), whether it follows the one before."""

    number: int
    said: Said | None
    follows: bool


def next_line(lines: Sequence[bytes], said: Said) -> bytes:
    """The line to add behind ``lines``, without its end: ASCII, with ``line`` and ``before`` (empty in the first)."""
    before = sha256_of(lines[-1]) if lines else ""
    row = {"line": len(lines) + 1, **said, "before": before}
    return json.dumps(row, ensure_ascii=True, separators=(",", ":")).encode("ascii")


def links(lines: Sequence[bytes]) -> Iterator[Link]:
    """Every line, held against the one before it."""
    before = ""
    for number, line in enumerate(lines, 1):
        said = _read(line)
        follows = said is not None and said.get("before") == before and said.get("line") == number
        yield Link(number=number, said=said, follows=follows)
        before = sha256_of(line)


def _read(line: bytes) -> Said | None:
    try:
        said = json.loads(line)
    except ValueError:  # also bytes that are no text
        return None
    return said if isinstance(said, dict) else None
