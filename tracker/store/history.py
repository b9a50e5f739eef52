"""One walk through all history: which commit brought in which record, and which commit descends from which.

The walk is a single ``git log`` over every branch and tag. It is not limited to the paths of interest: git compares
whole trees either way, and twice when it is to leave commits out. A merge is compared with all its parents at once
(``-c``): a file it took from one of them was brought in there, one that equals none of them was brought in by the
merge itself.
"""

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from functools import cached_property

from tracker.frozen import dataclass
from tracker.records.places import SHOP, is_below_records
from tracker.store.git import Asked, Git, path_text

_LOG = (
    "log",
    "--stdin",
    "--topo-order",
    "--format=%x01%H %ct %P",
    "--no-show-signature",
    "--no-color",
    "--no-mailmap",
    "--no-notes",
    "--no-ext-diff",
    "--no-textconv",
    "--ignore-submodules=none",
    "--raw",
    "-z",
    "--no-abbrev",
    "--no-renames",
    "--root",
    "-O/dev/null",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A file as a commit left it: ``status`` A, M, D or T; ``blob`` its id after the commit (zeros after D)."""

    commit: str
    path: str
    status: str
    mode: str
    blob: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """A commit met on the walk; ``order`` puts every commit after its parents."""

    commit: str
    parents: tuple[str, ...]
    committed: datetime
    order: int


@dataclass(frozen=True, slots=True)
class Header:
    """What git says of a commit before its files."""

    commit: str
    parents: tuple[str, ...]
    committed: datetime


class History:
    """All commits that can be reached, and what they did to records and shop.toml, parents first.

    Attributes:
        tips: where the walk started.
        commits: every commit by id.
        changes: what was done to records and to shop.toml, in order.
    """

    def __init__(
        self, tips: Sequence[str], commits: Mapping[str, Walked], changes: Collection[Change]
    ) -> None:
        self.tips = tuple(tips)
        self.commits = commits
        self.changes = changes

    def changes_of(self, wanted: Callable[[str, str], bool]) -> Iterator[Change]:
        """The changes whose path and blob id are wanted, in order."""
        return (change for change in self.changes if wanted(change.path, change.blob))

    def descends(self, later: str, earlier: str) -> bool:
        """Whether commit ``later`` is ``earlier`` or comes after it; False for a commit that was never met."""
        if later not in self.commits or earlier not in self.commits:
            return False
        line_of, reach = self._lines
        if line_of[later] == line_of[earlier]:
            return self.commits[later].order >= self.commits[earlier].order
        return bool(reach[line_of[later]] >> line_of[earlier] & 1)

    @cached_property
    def _lines(self) -> tuple[Mapping[str, int], Sequence[int]]:
        """Every commit's straight line, and for every line the lines it can reach, as bits of a number.

        A line is a run of commits with one parent and one child each. Who reaches a line from outside reaches its
        last commit and so all of it, hence one bit a line is enough, and a long history has few lines.
        """
        walked = sorted(self.commits.values(), key=lambda each: each.order)
        return lines_of([(each.commit, each.parents) for each in walked])


def lines_of(commits: Sequence[tuple[str, Sequence[str]]]) -> tuple[Mapping[str, int], Sequence[int]]:
    """The lines of commits with their parents, parents first."""
    children = Counter(parent for _, parents in commits for parent in parents)
    line_of: dict[str, int] = {}
    reach: list[int] = []
    for commit, parents in commits:
        known = [parent for parent in parents if parent in line_of]
        if len(parents) == 1 and known and children[known[0]] == 1:
            line_of[commit] = line_of[known[0]]
            continue
        line_of[commit] = len(reach)
        bits = 1 << len(reach)
        for parent in known:
            bits |= reach[line_of[parent]]
        reach.append(bits)
    return line_of, reach


def walk(git: Git, tips: Sequence[str]) -> History:
    """The history below these tips (commits or tags); an empty one for no tips."""
    return walked(tips, begin_walk(git, tips).answer()) if tips else History(tips, {}, ())


def begin_walk(git: Git, tips: Sequence[str]) -> Asked:
    """Let git begin the walk; `walked` reads its answer."""
    return git.begin(*_LOG, "-c", stdin=_lines(tips))


def walk_behind(git: Git, tips: Sequence[str], end: str) -> "list[tuple[Header, list[Change]]] | None":
    """What a walk from these tips meets that ``end`` does not lead to, newest first; None where git cannot tell."""
    status, out, _ = git.attempt(*_LOG, "-c", stdin=_lines([*tips, f"^{end}"]))
    return list(_rows(out, _is_evidence)) if status == 0 else None


def walked(tips: Sequence[str], answer: bytes) -> History:
    """The history from what git said of the walk that `begin_walk` began."""
    found = list(_rows(answer, _is_evidence))
    total = len(found)
    commits = {
        header.commit: Walked(
            commit=header.commit, parents=header.parents, committed=header.committed, order=total - 1 - place
        )
        for place, (header, _) in enumerate(found)
    }
    return History(tips, commits, [change for _, changes in reversed(found) for change in changes])


def merged_texts(git: Git, tips: Sequence[str]) -> list[Change]:
    """Files below ``jobs`` and ``common`` that a merge left as none of its parents had them, parents first."""
    found = list(_log(git, tips, "-c", "--merges", wanted=_is_text))
    return [change for _, changes in reversed(found) for change in changes]


def _log(
    git: Git, tips: Sequence[str], *words: str, wanted: Callable[[str], bool]
) -> Iterator[tuple[Header, list[Change]]]:
    if tips:
        yield from _rows(git.run(*_LOG, *words, stdin=_lines(tips)), wanted)


def _lines(tips: Sequence[str]) -> bytes:
    return "".join(f"{tip}\n" for tip in tips).encode("ascii")


def _rows(out: bytes, wanted: Callable[[str], bool]) -> Iterator[tuple[Header, list[Change]]]:
    """The walk from git's answer, newest first: per commit a header, then a row and a path for each file."""
    header: Header | None = None
    changes: list[Change] = []
    tokens = iter(out.split(b"\0"))
    for token in tokens:
        text = token.lstrip(b"\n")
        if text.startswith(b"\x01"):
            if header is not None:
                yield header, changes
            commit, seconds, *parents = text[1:].decode("ascii").split()
            header = Header(commit, tuple(parents), datetime.fromtimestamp(int(seconds), UTC))
            changes = []
        elif text.startswith(b":") and header is not None:
            path = path_text(next(tokens))
            if wanted(path):
                changes.append(_change(header.commit, text, path))
    if header is not None:
        yield header, changes


def _is_evidence(path: str) -> bool:
    return path == SHOP or is_below_records(path)


def _is_text(path: str) -> bool:
    return path.lower().startswith(("jobs/", "common/")) and not is_below_records(path)


def _change(commit: str, row: bytes, path: str) -> Change:
    """One file of one commit; a merge's row has a mode and an id for each parent, then its own."""
    words = row.lstrip(b":").decode("ascii").split()
    parents = len(row) - len(row.lstrip(b":"))
    return Change(
        commit=commit,
        path=path,
        status=words[-1][-1],
        mode=words[parents],
        blob=words[2 * parents + 1],
    )
