"""In which steps commits go out: a change of people, keys and policy is a push of its own. Pure.

A guarded shared repository takes a change of shop.toml in by itself only, and judges what comes after by it
(`tracker.policy.push_appended`). So what is new there is cut where the two kinds meet. A step is a commit that holds all
of the steps before it; what a step adds is one change of shop.toml, or anything but such a change. A merge that makes
nothing is of neither kind.
"""

from collections.abc import Iterator, Sequence

from tracker.frozen import dataclass
from tracker.policy.push import NewCommit
from tracker.policy.push_appended import changes_shop


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What goes out in one push: up to ``tip``; ``shop``: it is a change of shop.toml; ``commits`` it adds."""

    tip: str
    shop: bool
    commits: frozenset[str]


def steps_to(commits: Sequence[NewCommit], tip: str, after: str | None = None) -> tuple[Step, ...] | None:
    """The fewest steps that end with ``tip``; None where there are none, one where nothing has to be parted.

    Args:
        commits: all that are new there, parents before children; ``tip`` is the last of its line.
        tip: the commit that is to be there at the end.
        after: each step must come after this commit too, since no branch is ever moved elsewhere.
    """
    return _Paths(commits, after).to(tip)


def is_mixed(commits: Sequence[NewCommit], *, tags: bool = False) -> bool:
    """Whether a change of shop.toml would go out together with something else (``tags``: with these), or with another."""
    shops = sum(_is_shop(one) for one in commits)
    return shops > 1 or (shops == 1 and (tags or any(_is_other(one) for one in commits)))


def _is_shop(commit: NewCommit) -> bool:
    return len(commit.parents) < 2 and changes_shop(commit)


def _is_other(commit: NewCommit) -> bool:
    return not _is_shop(commit) and (len(commit.parents) < 2 or bool(commit.made_here))


class _Paths:
    """New commits as sets of bits: what lies below each, and of which kind it is."""

    def __init__(self, commits: Sequence[NewCommit], after: str | None) -> None:
        self._ids = [one.commit for one in commits]
        self._place = {one.commit: number for number, one in enumerate(commits)}
        self._shops = sum(1 << number for number, one in enumerate(commits) if _is_shop(one))
        self._others = sum(1 << number for number, one in enumerate(commits) if _is_other(one))
        self._ends = self._may_end(commits)
        self._below: list[int] = []
        self._follows: list[bool] = []
        for number, one in enumerate(commits):
            parents = [self._place[parent] for parent in one.parents if parent in self._place]
            below = 1 << number
            for parent in parents:
                below |= self._below[parent]
            self._below.append(below)
            self._follows.append(
                after is None or after in one.parents or any(self._follows[parent] for parent in parents)
            )

    def _may_end(self, commits: Sequence[NewCommit]) -> tuple[int, ...]:
        """Where a step may end before its last: beside changes of shop.toml and where lines come together."""
        turns = [one for one in commits if len(one.parents) > 1 or _is_shop(one)]
        ids = {one.commit for one in turns} | {parent for one in turns for parent in one.parents}
        return tuple(sorted(self._place[one] for one in ids if one in self._place))

    def to(self, tip: str) -> tuple[Step, ...] | None:
        """Breadth first from nothing: a state is what has gone out so far."""
        last = self._place[tip]
        came: dict[int, int | None] = {0: None}
        rank = [0]
        while rank:
            found: list[int] = []
            for gone in rank:
                for one in self._next(gone, last):
                    if self._below[one] not in came:
                        came[self._below[one]] = gone
                        found.append(self._below[one])
            if self._below[last] in came:
                return tuple(self._told(self._below[last], came))
            rank = found
        return None

    def _next(self, gone: int, last: int) -> Iterator[int]:
        """Commits the next step may end with."""
        wanted = self._below[last]
        for number in dict.fromkeys((last, *self._ends)):
            below = self._below[number]
            adds = below & ~gone
            if adds and wanted >> number & 1 and self._follows[number] and not gone & ~below:
                shops = adds & self._shops
                if not shops or (shops.bit_count() == 1 and not adds & self._others):
                    yield number

    def _told(self, state: int, came: dict[int, int | None]) -> list[Step]:
        steps: list[Step] = []
        before = came[state]
        while before is not None:
            adds = state & ~before
            tip = max(number for number in range(state.bit_length()) if adds >> number & 1)
            ids = frozenset(self._ids[number] for number in range(tip + 1) if adds >> number & 1)
            steps.append(Step(tip=self._ids[tip], shop=bool(adds & self._shops), commits=ids))
            state, before = before, came[before]
        return steps[::-1]
