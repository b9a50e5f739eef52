"""What a push brings, as values, and what may stand against it. Server, CI and audit use the same ones.

A commit is looked at beside each of its parents by itself: an edit that is put back later, or a file a merge lets go,
is seen where it happened and not only in what is left at the end.
"""

from datetime import datetime

from tracker.frozen import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """A file as a commit has it beside one parent: ``status`` A, M, D or T; ``blob`` its id (zeros after D)."""

    path: str
    status: str
    mode: str
    blob: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NewCommit:
    """A commit: ``touched`` beside each parent, in their order; of a first commit beside nothing, once."""

    commit: str
    parents: tuple[str, ...]
    author: str
    authored: datetime
    committed: datetime
    touched: tuple[tuple[Touch, ...], ...]

    @property
    def short(self) -> str:
        """The opening digits of its id."""
        return self.commit[:12]

    @property
    def made_here(self) -> tuple[Touch, ...]:
        """What the commit itself did: files that are as no parent has them."""
        first, *others = self.touched
        if not others:
            return first
        rest = [{touch.path for touch in one} for one in others]
        return tuple(touch for touch in first if all(touch.path in paths for paths in rest))


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """A rule that is broken: its ``rule`` by name, ``where`` (a commit, a path, a reference), what, and the remedy."""

    rule: str
    where: str
    words: str
    clears: str | None = None

    def __str__(self) -> str:
        """One line."""
        line = f"{self.rule}: {self.where}: {self.words}"
        return f"{line} (clear it: {self.clears})" if self.clears else line
