"""Bringing two histories of one shop together, file by file and never within a file. Pure.

A file only one side changed is that side's, a file both changed in the same way is that; whatever else both changed is
for a person to choose. So every file of the result has the very bytes it has on one of the two sides. Where the two
parted at several points, a file is taken only if the answer is the same from each of them.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tracker.records.places import is_below_records
from tracker.services.path_lint import lint_paths
from tracker.services.ports_share import Entries


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined:
    """What bringing together comes to: ``entries`` of the whole, and the paths both sides changed differently."""

    entries: Entries
    both: tuple[str, ...]


def join(
    ours: Entries, theirs: Entries, bases: Sequence[Entries], chosen: Mapping[str, str | None] | None = None
) -> Joined:
    """Both sides together; ``chosen``: path -> entry a person decided for (None: no such file)."""
    made: dict[str, str] = {}
    both: list[str] = []
    for path in sorted(ours.keys() | theirs.keys()):
        here, there = ours.get(path), theirs.get(path)
        answers = {_one(here, there, base.get(path)) for base in bases}
        if here == there:
            entry = here
        elif len(answers) == 1 and (found := next(iter(answers))) is not None:
            entry = found[0]
        else:
            if chosen is None or path not in chosen:
                both.append(path)
                continue
            entry = chosen[path]
        if entry is not None:
            made[path] = entry
    return Joined(entries=made, both=tuple(both))


def _one(here: str | None, there: str | None, base: str | None) -> tuple[str | None] | None:
    """The entry in a tuple, or None where both changed it."""
    if here == base:
        return (there,)
    return (here,) if there == base else None


def between(joined: Entries, ours: Entries, theirs: Entries) -> Entries:
    """What a merge on the way to ``joined`` holds, where ``ours`` is a state of this side on its way.

    A file that is theirs in the end is theirs all the way, every other one is as this side had it then. So each has the
    bytes of one side here too, and for the last state of this side it comes to ``joined``.
    """
    paths = joined.keys() | ours.keys() | theirs.keys()
    sides = {path: theirs if joined.get(path) == theirs.get(path) else ours for path in paths}
    return {path: entry for path, side in sides.items() if (entry := side.get(path)) is not None}


def records_changed(side: Entries, bases: Sequence[Entries]) -> tuple[str, ...]:
    """Records a side has taken away or written anew since the two parted: they are only ever added."""
    return tuple(
        sorted(
            {
                path
                for base in bases
                for path, entry in base.items()
                if is_below_records(path) and side.get(path) != entry
            }
        )
    )


def clashes(joined: Iterable[str], ours: Iterable[str], theirs: Iterable[str]) -> tuple[str, ...]:
    """Names that are one and the same on another PC, and came about only by bringing together, with the reason."""
    known = {(fault.path, fault.why) for side in (ours, theirs) for fault in lint_paths(side)}
    found = ((fault.path, fault.why) for fault in lint_paths(joined))
    files = set(joined)
    parents = {path[:at] for path in files for at, mark in enumerate(path) if mark == "/"}
    both = [f"{path}: a file on one side, a folder on the other" for path in sorted(files & parents)]
    return (*(f"{path}: {why}" for path, why in found if (path, why) not in known), *both)
