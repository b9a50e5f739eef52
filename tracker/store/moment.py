"""A repository at one moment, as the local hook meets it: found without git, references read once.

git waits for the hook and holds the references it changes, so nothing is gained by reading them twice. What is sure to
be asked is asked at once, and git works on it while the rules are still being imported.
"""

import os
from collections.abc import Sequence

from tracker.store.derived import common_dir_here, git_dir_here
from tracker.store.git import Asked, Git
from tracker.store.history import History, begin_walk, walked
from tracker.store.reading import Reading
from tracker.store.refs import Ref, ask_refs, refs_from


class Moment(Reading):
    """One repository, just now."""

    def __init__(self, git: Git, shared: str) -> None:
        """Args: as of `Reading`."""
        super().__init__(git, shared)
        self.shared = shared
        self._refs: tuple[Ref, ...] | None = None
        self._walk: tuple[tuple[str, ...], Asked] | None = None
        self._asked = ask_refs(git)
        self.objects.begin()

    def close(self) -> None:
        """End what still runs."""
        self._asked.drop()
        if self._walk is not None:
            self._walk[1].drop()
        super().close()

    def refs(self) -> Sequence[Ref]:
        """Every reference."""
        if self._refs is None:
            self._refs = refs_from(self._asked.answer())
        return self._refs

    def begin_history(self, commit: str) -> None:
        """Let git begin the walk that `history` of this commit wants."""
        tips = self.tips(commit)
        if self._walk is None:
            self._walk = (tips, begin_walk(self.git, tips))

    def walk(self, tips: tuple[str, ...]) -> History:
        """The walk, begun or not."""
        if self._walk is not None and self._walk[0] == tips:
            return walked(tips, self._walk[1].answer())
        return super().walk(tips)


def moment_here() -> Moment | None:
    """The repository of the hook that runs in the folder in hand; None where only git can find it."""
    git_dir, shared = git_dir_here(), common_dir_here()
    if git_dir is None or shared is None:
        return None
    git = Git(folder=os.getcwd(), hook=True, here=True, git_dir=os.path.abspath(git_dir))  # noqa: PTH100, PTH109
    return Moment(git, shared)
