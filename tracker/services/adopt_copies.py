"""Copies of programs: which file is the same as which, and in what a copy differs from the one in the first folder.

The first folder named counts as the office's. A file of another folder is its copy when it has the same path, else the
same name or O number where only one file there has it.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence

from tracker.frozen import dataclass
from tracker.nc.compare import compare
from tracker.services.adopt_look import Looked

SAME_BYTES, SAME_CODE, DIFFERS = "same-bytes", "same-code", "differs"
_MOST_SAID = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """``of`` is the file it is a copy of; ``how`` one of the words above."""

    of: Looked
    how: str


def copies(programs: Sequence[Looked]) -> Mapping[int, Copy]:
    """Place in ``programs`` -> what it is a copy of; the first of several equal ones is none."""
    first = [one for one in programs if one.folder == 0]
    by_path = {one.file.path.lower(): one for one in first}
    by_name, by_number = _only(first, _names), _only(first, lambda one: one.numbers)
    by_code: dict[str, Looked] = {}
    found: dict[int, Copy] = {}
    for at, one in enumerate(programs):
        same = by_code.setdefault(one.fingerprint, one)
        if same is not one:
            found[at] = Copy(of=same, how=SAME_BYTES if same.sha256 == one.sha256 else SAME_CODE)
        elif one.folder:
            other = (
                by_path.get(one.file.path.lower())
                or _first(by_name, _names(one))
                or _first(by_number, one.numbers)
            )
            if other is not None:
                found[at] = Copy(of=other, how=DIFFERS)
    return found


def difference_words(old: bytes, new: bytes, *, strict: bool) -> str:
    """In what a copy differs, in a few words: ``feed of T4, motion of T2``."""
    found = compare(old, new, strict=strict)
    said: dict[str, None] = {}
    for change in found.changes:
        if change.kind not in ("numbering", "wording", "format"):
            said.setdefault(f"{change.kind} of T{change.tool}" if change.tool else change.kind)
    words = list(said) or ["text only"]
    more = f" and {len(words) - _MOST_SAID} more" if len(words) > _MOST_SAID else ""
    return ", ".join(words[:_MOST_SAID]) + more


def _names(one: Looked) -> tuple[str, ...]:
    return (one.file.path.rpartition("/")[2].lower(),)


def _only(files: Iterable[Looked], keys: Callable[[Looked], Iterable[object]]) -> Mapping[object, Looked]:
    """Files by a key that only one of them has."""
    found: dict[object, Looked | None] = {}
    for one in files:
        for key in keys(one):
            found[key] = None if key in found else one
    return {key: one for key, one in found.items() if one is not None}


def _first(table: Mapping[object, Looked], keys: Iterable[object]) -> Looked | None:
    return next((table[key] for key in keys if key in table), None)
