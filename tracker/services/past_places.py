"""Where each program lay in every commit of the past: followed back from today through renames, and through merges.

Followed is one file: by its path, and where a commit gave it that path, by the rename git sees there. A copy is another
program with a history of its own, unless a program was copied when it was taken in: then the file it was copied from is
followed on.
"""

from collections.abc import Collection, Mapping, Sequence

from tracker.services.paths import name_of
from tracker.services.ports_past import Past, PastChange, PastCommit

Places = Mapping[str, Mapping[str, str]]
"""Commit -> program (its path today) -> its path there; it may turn out to be absent there."""


def places(
    past: Past, commits: Sequence[PastCommit], today: Mapping[str, bytes], taken_in: Collection[str]
) -> Places:
    """Follow every program back.

    Args:
        past: the history.
        commits: of it, parents first.
        today: path of a program -> its bytes.
        taken_in: commits that took programs in; a file one of them added may be a copy.
    """
    if not commits:
        return {}
    found: dict[str, Mapping[str, str]] = {}
    found[commits[-1].commit] = {path: _start(past, path, data) for path, data in today.items()}
    last: Mapping[str, str] = {}
    followed: frozenset[str] = frozenset()
    for commit in reversed(commits):
        here = found.get(commit.commit, {})
        if here is not last:  # one table serves all commits between two moves
            last, followed = here, frozenset(here.values())
        for parent, changes in zip(commit.parents, commit.changes, strict=False):
            if parent not in found:
                moved = _moved(past, commit.commit in taken_in, parent, changes, followed)
                found[parent] = {one: moved.get(path, path) for one, path in here.items()} if moved else here
    return found


def _start(past: Past, path: str, data: bytes) -> str:
    """Where the last commit has a program that lies in the working folder: there, or where it was copied from."""
    held = past.places(None, past.blob_id(data))
    return path if path in held or not held else _likest(path, held)


def _likest(path: str, held: Sequence[str]) -> str:
    """Of files with the same bytes the one that is called the same, else the first."""
    return next((one for one in held if name_of(one).casefold() == name_of(path).casefold()), held[0])


def _moved(
    past: Past, taken_in: bool, parent: str, changes: Sequence[PastChange], wanted: Collection[str]
) -> Mapping[str, str]:
    """Path after the commit -> path before it, for files that are followed and lay elsewhere."""
    found: dict[str, str] = {}
    for change in changes:
        if change.path not in wanted:
            continue
        if change.old is not None:
            found[change.path] = change.old
        elif change.status == "A" and taken_in:
            held = past.places(parent, change.blob)
            if held:
                found[change.path] = _likest(change.path, held)
    return found
