"""A repository at one moment, as the local hook meets it: found without git, references read once.

git waits for the hook and holds the references it changes, so nothing is gained by reading them twice. What is sure to
be asked is asked at once, and git works on it while the rules are still being imported.
"""

import os
from collections.abc import Sequence

from tracker.records.stored import Ledger
from tracker.store.derived import common_dir_here, git_dir_here
from tracker.store.facts_before import facts_before, note_facts
from tracker.store.git import Asked, Git
from tracker.store.history import History, begin_walk, walked
from tracker.store.ledger import build_ledger
from tracker.store.read_before import jobs_read_before, note_jobs_read, note_sound, sound_before
from tracker.store.reading import Reading
from tracker.store.refs import Ref, ask_refs, refs_from
from tracker.store.whole import check_whole


class Moment(Reading):
    """One repository, just now."""

    def __init__(self, git: Git, shared: str) -> None:
        """Args: as of `Reading`."""
        super().__init__(git, shared)
        self.shared = shared
        self._refs: tuple[Ref, ...] | None = None
        self._walk: tuple[tuple[str, ...], Asked] | None = None
        self._known = 0
        self._asked = ask_refs(git)
        self.objects.begin()
        self._facts = facts_before(shared)
        self._tree_objects.sound |= sound_before(shared)
        self._known = self._known_by_now()

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

    def ledger_of_job(self, commit: str, job: str) -> Ledger:
        """The records of one job and of none; those that were read here before and are another's are not parsed."""
        from tracker.policy.book import part_of  # as above

        check_whole(self.shared)
        if not self._reader.jobs:
            self._reader.jobs = jobs_read_before(self.shared)
        part = build_ledger(self._tree_of(commit), self.history(commit), self._reader, job=job)
        return part_of(part, job)

    def note_what_was_read(self) -> None:
        """Spare the next hook what was read now."""
        known = self._reader.jobs_read()
        if known.keys() != self._reader.jobs.keys():
            note_jobs_read(self.shared, known)
        if self._known_by_now() != self._known:
            note_facts(self.shared, self._facts)
            note_sound(self.shared, self._tree_objects.sound)

    def _known_by_now(self) -> int:
        """How much is known: it only ever grows."""
        identities = sum(len(facts.identities) for facts in self._facts.values())
        return len(self._facts) + identities + len(self._tree_objects.sound)

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
