"""The walk through history kept from one call to the next, and carried on from where it ended.

What is kept holds for the tips it was made from. Where there are new commits and every one of them comes after all that
was walked by then, git is asked for those alone; they stand behind in line, as in a walk made anew. Whatever else became
of history (a line beside, a branch that is gone) is walked anew.
"""

import hashlib
import json
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from functools import cached_property

from tracker.store.git import Git
from tracker.store.history import Change, Header, History, Walked, lines_of, walk, walk_behind
from tracker.store.kept import Kept

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from typing import TypedDict

    class _Said(TypedDict):
        """What is kept of a walk; ``how``: status and mode of a change, ``at``: the place of its commit."""

        tips: list[str]
        commits: str
        seconds: list[int]
        parents: Mapping[str, Sequence[str]]
        at: list[int]
        paths: list[str]
        blobs: str
        how: list[str]


_KIND = "walk"
_LAST = "last"


def kept_walk(git: Git, kept: Kept, tips: Sequence[str]) -> History:
    """The history below these tips, as `walk` gives it."""
    if not tips:
        return walk(git, tips)
    before = _before(kept)
    if before is not None and set(before.tips) == set(tips):
        return before.below(tips)
    found = _carried_on(git, before, tips) if before is not None else None
    if found is None:
        found = walk(git, tips)
    kept.put(_KIND, {_LAST: _written(found)}, alone=True)
    return found


def state_name(tips: Sequence[str]) -> str:
    """A name for everything tips lead to."""
    return hashlib.sha256("\n".join(sorted(tips)).encode("ascii")).hexdigest()


def _carried_on(git: Git, before: "_KeptHistory", tips: Sequence[str]) -> History | None:
    """The walk with what came after all it holds; None where that is not all there is to it."""
    parents = {parent for _, above in before.walked.with_parents() for parent in above}
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
    ids = [one.commit for one in walked]
    before = [(), *((one,) for one in ids[:-1])]
    order = {commit: at for at, commit in enumerate(ids)}
    changes = found.changes
    said: _Said = {
        "tips": list(found.tips),
        "commits": " ".join(ids),
        "seconds": [int(one.committed.timestamp()) for one in walked],
        "parents": {
            one.commit: one.parents for one, usual in zip(walked, before, strict=True) if one.parents != usual
        },
        "at": [order[one.commit] for one in changes],
        "paths": [one.path for one in changes],
        "blobs": " ".join(one.blob for one in changes),
        "how": [f"{one.status}{one.mode}" for one in changes],
    }
    return json.dumps(said, separators=(",", ":")).encode("ascii")


def _before(kept: Kept) -> "_KeptHistory | None":
    raw = kept.one(_KIND, _LAST)
    try:
        return _KeptHistory(json.loads(raw)) if raw is not None else None
    except (ValueError, TypeError, KeyError, AttributeError):
        return None


class _KeptHistory(History):
    """What is kept of a walk, a value made of it where one is asked for: most calls look at a few of many thousands."""

    def __init__(self, said: "_Said", tips: Sequence[str] | None = None) -> None:
        """Args: said: what `_written` wrote; raises ValueError, TypeError, KeyError, AttributeError for anything else."""
        self._said = said
        self.walked = _KeptCommits(said["commits"].split(), said["seconds"], said["parents"])
        self._changes = _KeptChanges(
            self.walked.ids, said["at"], said["paths"], said["blobs"].split(), said["how"]
        )
        super().__init__([str(tip) for tip in tips or said["tips"]], self.walked, self._changes)

    def below(self, tips: Sequence[str]) -> History:
        """The same walk from the same tips in another order."""
        return _KeptHistory(self._said, tips)

    def changes_of(self, wanted: Callable[[str, str], bool]) -> Iterator[Change]:
        """The changes whose path and blob id are wanted, in order."""
        return self._changes.of(wanted)

    @cached_property
    def _lines(self) -> tuple[Mapping[str, int], Sequence[int]]:
        ids = self.walked.ids
        if not any(self.walked.parents[one] for one in self.walked.parents):
            return dict.fromkeys(ids, 0), [1]  # one straight line
        return lines_of(self.walked.with_parents())


class _KeptCommits(Mapping[str, Walked]):
    """Every commit by its id, in the order of the walk; ``parents``: of those that do not follow the one before alone."""

    def __init__(
        self, ids: Sequence[str], seconds: Sequence[int], parents: Mapping[str, Sequence[str]]
    ) -> None:
        self.ids = ids
        self.parents = parents
        self._seconds = seconds
        self._order = {commit: at for at, commit in enumerate(ids)}
        if not len(seconds) == len(self._order) == len(ids) or not self._order.keys() >= parents.keys():
            raise ValueError("not one time for each commit")

    def __getitem__(self, commit: str) -> Walked:
        at = self._order[commit]
        return Walked(
            commit=commit,
            parents=self._parents_of(at),
            committed=datetime.fromtimestamp(self._seconds[at], UTC),
            order=at,
        )

    def __iter__(self) -> Iterator[str]:
        return iter(self.ids)

    def __len__(self) -> int:
        return len(self.ids)

    def __contains__(self, commit: object) -> bool:
        return commit in self._order

    def with_parents(self) -> list[tuple[str, Sequence[str]]]:
        """Every commit with its parents, parents first."""
        return [(commit, self._parents_of(at)) for at, commit in enumerate(self.ids)]

    def _parents_of(self, at: int) -> tuple[str, ...]:
        said = self.parents.get(self.ids[at])
        return tuple(said) if said is not None else tuple(self.ids[at - 1 : at])


class _KeptChanges(Collection[Change]):
    """Every change, in the order of the walk, column by column."""

    def __init__(
        self,
        ids: Sequence[str],
        at: Sequence[int],
        paths: Sequence[str],
        blobs: Sequence[str],
        how: Sequence[str],
    ) -> None:
        self._ids = ids
        self._columns = (at, paths, blobs, how)
        if not len(at) == len(paths) == len(blobs) == len(how) or not 0 <= max(at, default=0) < len(ids):
            raise ValueError("not a value in each column for each change")

    def of(self, wanted: Callable[[str, str], bool]) -> Iterator[Change]:
        """Those whose path and blob are wanted."""
        return (self._made(*row) for row in zip(*self._columns, strict=True) if wanted(row[1], row[2]))

    def __contains__(self, change: object) -> bool:
        return any(one == change for one in self)

    def __iter__(self) -> Iterator[Change]:
        return (self._made(*row) for row in zip(*self._columns, strict=True))

    def __len__(self) -> int:
        return len(self._columns[0])

    def _made(self, at: int, path: str, blob: str, how: str) -> Change:
        return Change(commit=self._ids[at], path=path, status=how[:1], mode=how[1:], blob=blob)
