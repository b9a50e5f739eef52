"""The walk through history kept from one call to the next, and carried on from where it ended.

What is kept holds for the tips it was made from. Where there are new commits and every one of them comes after all that
was walked by then, git is asked for those alone; they stand behind in line, as in a walk made anew. Whatever else became
of history (a line beside, a branch that is gone) is walked anew.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

from tracker.store.git import Git
from tracker.store.history import Change, Header, History, Walked, walk, walk_behind
from tracker.store.kept import Kept

_KIND = "walk"
_LAST = "last"


def kept_walk(git: Git, kept: Kept, tips: Sequence[str]) -> History:
    """The history below these tips, as `walk` gives it."""
    if not tips:
        return walk(git, tips)
    before = _before(kept)
    if before is not None and set(before.tips) == set(tips):
        return History(tips, before.commits, before.changes)
    found = _carried_on(git, before, tips) if before is not None else None
    if found is None:
        found = walk(git, tips)
    kept.put(_KIND, {_LAST: _written(found)}, alone=True)
    return found


def state_name(tips: Sequence[str]) -> str:
    """A name for everything tips lead to."""
    return hashlib.sha256("\n".join(sorted(tips)).encode("ascii")).hexdigest()


def _carried_on(git: Git, before: History, tips: Sequence[str]) -> History | None:
    """The walk with what came after all it holds; None where that is not all there is to it."""
    parents = {parent for one in before.commits.values() for parent in one.parents}
    ends = [commit for commit in before.commits if commit not in parents]
    if len(ends) != 1:
        return None
    end = ends[0]
    rows = walk_behind(git, tips, end)
    if rows is None:
        return None
    new = {header.commit for header, _ in rows}
    straight = all(header.parents and new.union((end,)).issuperset(header.parents) for header, _ in rows)
    if not straight or (not rows and not _leads_to(git, tips, end)):
        return None
    return _joined(before, tips, rows)


def _leads_to(git: Git, tips: Sequence[str], end: str) -> bool:
    asked = "".join(f"{line}\n" for line in (end, *(f"^{tip}" for tip in tips)))
    status, out, _ = git.attempt("rev-list", "--max-count=1", "--stdin", stdin=asked.encode("ascii"))
    return status == 0 and not out.strip()


def _joined(before: History, tips: Sequence[str], rows: Sequence[tuple[Header, list[Change]]]) -> History:
    commits = dict(before.commits)
    changes = list(before.changes)
    for header, touched in reversed(rows):
        commits[header.commit] = Walked(
            commit=header.commit, parents=header.parents, committed=header.committed, order=len(commits)
        )
        changes += touched
    return History(tips, commits, changes)


def _written(found: History) -> bytes:
    walked = sorted(found.commits.values(), key=lambda one: one.order)
    said = {
        "tips": list(found.tips),
        "commits": [(one.commit, int(one.committed.timestamp()), *one.parents) for one in walked],
        "changes": [(one.commit, one.path, one.status, one.mode, one.blob) for one in found.changes],
    }
    return json.dumps(said, separators=(",", ":")).encode("ascii")


def _before(kept: Kept) -> History | None:
    raw = kept.one(_KIND, _LAST)
    try:
        return _read(json.loads(raw)) if raw is not None else None
    except (ValueError, TypeError, KeyError, AttributeError):
        return None


def _read(said: Mapping[str, Sequence[Sequence[str]]]) -> History:
    commits = {
        commit: Walked(
            commit=commit,
            parents=tuple(parents),
            committed=datetime.fromtimestamp(int(seconds), UTC),
            order=order,
        )
        for order, (commit, seconds, *parents) in enumerate(said["commits"])
    }
    # ids are the same texts wherever they stand, which is found by looking once
    same = {commit: commit for commit in commits}
    changes = [
        Change(commit=same[commit], path=path, status=status, mode=mode, blob=blob)
        for commit, path, status, mode, blob in said["changes"]
    ]
    return History([str(tip) for tip in said["tips"]], commits, changes)
