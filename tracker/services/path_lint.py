"""Names of files that will not survive every PC, stick and clone of a shop. Pure.

Rules: learn.microsoft.com, "Naming Files, Paths, and Namespaces" (reserved device names, characters, trailing dot or
blank); Unicode Standard Annex 15 for composed and decomposed letters; two names that differ in case only, or in how a
letter is composed only, are one file on Windows and macOS.
"""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from tracker.records.ids import is_reserved

_REFUSED = frozenset('<>:"|?*\\')
# Windows without long paths: 260 characters with drive, folder and end mark; some room for the shop's own folder
_LONGEST = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class PathFault:
    """A name that makes trouble, and why."""

    path: str
    why: str


def lint_paths(paths: Iterable[str]) -> tuple[PathFault, ...]:
    """Everything that is wrong with these names, in the order of the paths."""
    listed = sorted(set(paths))
    faults = [PathFault(path=path, why=why) for path in listed for why in _faults(path)]
    return tuple(sorted([*faults, *_clashes(listed)], key=lambda fault: (fault.path, fault.why)))


def _faults(path: str) -> Iterable[str]:
    if not path.isascii() and any("\ud800" <= mark <= "\udfff" for mark in path):
        yield "the name is no UTF-8"
    if not path.isprintable() and any(ord(mark) < 32 or ord(mark) == 127 for mark in path):
        yield "there is a control character in the name"
    for part in path.split("/"):
        yield from _faults_of_part(part)
    if not path.isascii() and unicodedata.normalize("NFC", path) != path:
        yield "a letter is written as two characters (not NFC): other PCs write it as one"
    if len(path) > _LONGEST:
        yield f"the path is longer than {_LONGEST} characters"


@lru_cache(maxsize=1 << 16)
def _faults_of_part(part: str) -> tuple[str, ...]:
    """What is wrong with the name of one file or folder; most folders lead to many files."""
    found: list[str] = []
    if is_reserved(part):
        found.append(f"Windows keeps the name {part} for a device")
    if part.endswith((".", " ")):
        found.append("Windows drops a point or blank at the end of a name")
    refused = sorted(_REFUSED & set(part))
    if refused:
        found.append(f"Windows and sticks refuse {' '.join(refused)} in a name")
    return tuple(found)


def _clashes(paths: Iterable[str]) -> list[PathFault]:
    """Files, and folders, whose names are one and the same elsewhere."""
    by_key: dict[str, dict[str, None]] = {}
    seen: set[str] = set()
    for path in paths:
        at = 0
        while at >= 0:  # every folder above it, outermost first, then itself
            at = path.find("/", at + 1)
            name = path if at < 0 else path[:at]
            if name not in seen:
                seen.add(name)
                by_key.setdefault(_same(name), {})[name] = None
    faults = []
    for names in by_key.values():
        first, *others = names
        # the clash is told once, where it begins, not again for everything below
        if others and len({name.rpartition("/")[2] for name in names}) > 1:
            faults += [
                PathFault(path=name, why=f"on Windows and macOS this is the same name as {first}")
                for name in others
            ]
    return faults


def _same(name: str) -> str:
    if name.isascii():
        return name.casefold()
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())
