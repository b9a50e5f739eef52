"""Ids and initials: what they may look like.

One pattern for all (``[A-Za-z0-9][A-Za-z0-9._-]{0,23}``), unique without regard to case, no name that a file system
reserves: ids become parts of file names on Windows, FAT and in git references.
"""

ID_PATTERN = r"[A-Za-z0-9][A-Za-z0-9._-]{0,23}"
_MOST = 24
_LETTERS = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789")
_MARKS = frozenset("._-")
# learn.microsoft.com, "Naming Files, Paths, and Namespaces": reserved also with an extension
RESERVED_NAMES = frozenset(
    ["CON", "PRN", "AUX", "NUL", *(f"COM{n}" for n in range(1, 10)), *(f"LPT{n}" for n in range(1, 10))]
)


def is_reserved(name: str) -> bool:
    """Whether Windows keeps ``name`` for a device, with or without an extension."""
    return name.split(".", 1)[0].upper() in RESERVED_NAMES


def is_id(text: str) -> bool:
    """Whether ``text`` may be an id or initials; a trailing point is refused since Windows drops it."""
    shaped = 0 < len(text) <= _MOST and text[0] in _LETTERS and set(text) <= _LETTERS | _MARKS
    return shaped and not is_reserved(text) and not text.endswith(".") and ".." not in text
