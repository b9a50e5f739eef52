"""The files of many states in a row, kept up to date by what each commit did.

Whoever looks at thousands of commits asks each state for a file or two. Looked up from its root, every state costs half
a dozen folders that no other has in this form. From one commit to the next only what it touched changes, and that is
known by then. What does not follow the state before is left to be looked up.
"""

from collections.abc import Mapping, Sequence

from tracker.policy.push import NewCommit


class States:
    """States of commits, asked parents first. Files are plain ones only, as `CommitTree.read` has them."""

    def __init__(self, plain: Sequence[str]) -> None:
        """Args: plain: modes of plain files."""
        self._plain = frozenset(plain)
        self._line: Sequence[NewCommit] = ()
        self._places: Mapping[str, int] = {}
        self._next = 0
        self._at: str | None = None
        self._blobs: dict[str, str] = {}

    def learn(self, commits: Sequence[NewCommit]) -> None:
        """These are the commits asked about, parents first, with all that each touched."""
        self._line = commits
        self._places = {one.commit: place for place, one in enumerate(commits)}
        self._next, self._at, self._blobs = 0, None, {}

    def holds(self, commit: str) -> bool:
        """Whether the state of a commit is at hand; from then on `blob` answers for it."""
        place = self._places.get(commit, -1)
        while self._next <= place:
            made = self._line[self._next]
            self._next += 1
            if self._at in made.parents:
                self._apply(made, made.parents.index(self._at))
            elif not made.parents and self._at is None:
                self._apply(made, 0)
        return commit == self._at

    def blob(self, path: str) -> str | None:
        """The id of the plain file at a path of the state at hand, None where there is none."""
        return self._blobs.get(path)

    def _apply(self, made: NewCommit, parent: int) -> None:
        for touch in made.touched[parent]:
            if touch.status != "D" and touch.mode in self._plain:
                self._blobs[touch.path] = touch.blob
            else:
                self._blobs.pop(touch.path, None)
        self._at = made.commit
