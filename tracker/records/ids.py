"""Ids and initials: what they may look like.

One pattern for all (``[A-Za-z0-9][A-Za-z0-9._-]{0,23}``), unique without regard to case, no name that a file system
reserves: ids become parts of file names on Windows, FAT and in git references.
"""

from tracker.patterns import lazy_pattern

ID_PATTERN = r"[A-Za-z0-9][A-Za-z0-9._-]{0,23}"
_ID = lazy_pattern(ID_PATTERN)
# learn.microsoft.com, "Naming Files, Paths, and Namespaces": reserved also with an extension
RESERVED_NAMES = frozenset(
    ["CON", "PRN", "AUX", "NUL", *(f"COM{n}" for n in range(1, 10)), *(f"LPT{n}" for n in range(1, 10))]
)


def is_reserved(name: str) -> bool:
    """Whether Windows keeps ``name`` for a device, with or without an extension."""
    return name.split(".", 1)[0].upper() in RESERVED_NAMES


def is_id(text: str) -> bool:
    """Whether ``text`` may be an id or initials; a trailing point is refused since Windows drops it."""
    return bool(_ID.fullmatch(text)) and not is_reserved(text) and not text.endswith(".") and ".." not in text
