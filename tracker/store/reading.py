"""The part of a repository that reads: states, references, history, and the records in them.

Nothing read from references is kept from one call to the next; what a commit, a blob or a set of tips says can never
change and is kept. What a clone can do besides, `tracker.store.clone` adds; the local hook needs no more than this and
starts so much the sooner.
"""

from collections import OrderedDict
from collections.abc import Iterable, Sequence
from contextlib import suppress

from tracker.errors import CouldNot
from tracker.records.events import AnyRecord
from tracker.records.stored import Found, Ledger
from tracker.services.ports import TagSeen
from tracker.services.program_facts import FactsKept, FactsRead, read_ahead
from tracker.store.git import Git
from tracker.store.history import History, walk
from tracker.store.ledger import RecordReader, build_ledger
from tracker.store.objects import Objects
from tracker.store.refs import RELEASES, Ref, evidence_tips, read_refs, tag_seen, tags_seen
from tracker.store.tree import CommitTree
from tracker.store.tree_objects import TreeObjects
from tracker.store.whole import check_whole

_TREES_KEPT = 32
_TREES_BYTES = 1 << 25


class Reading:
    """One repository, as far as it is read."""

    def __init__(self, git: Git, shared: str) -> None:
        """Args: git: called in it. shared: the git directory all its working folders share."""
        self.git = git
        self.objects = Objects(git)
        self._shared_dir = shared
        self._tree_objects = TreeObjects(self.objects, id_length=git.id_length)
        self._reader = RecordReader(self._tree_objects)
        self._trees: OrderedDict[str | None, CommitTree] = OrderedDict()
        self._histories: dict[tuple[str, ...], History] = {}
        self._ledgers: dict[tuple[str | None, tuple[str, ...]], Ledger] = {}
        self._facts: FactsKept = FactsRead()

    def close(self) -> None:
        """End the process that reads objects; reading again starts another."""
        self.objects.close()

    def tree(self, commit: str) -> CommitTree:
        """The files of a commit."""
        return self._tree_of(commit)

    def ledger(self, commit: str) -> Ledger:
        """All records and the history: in hand = those of ``commit``, others from every ref.

        Raises CouldNot: ``shallow``, ``partial``, ``grafted``, ``damaged``, ``no-shop``.
        """
        return self._ledger_of(commit)

    def ledger_of_job(self, commit: str, job: str) -> Ledger:
        """The same with the records of one job and those of no job only."""
        from tracker.policy.book import part_of  # the rules are loaded while git works

        return part_of(self.ledger(commit), job)

    def history(self, commit: str | None = None) -> History:
        """The walk through every branch and tag, and through ``commit`` if no reference leads there."""
        tips = self.tips(commit)
        if tips not in self._histories:
            self._histories[tips] = self.walk(tips)
        return self._histories[tips]

    def tips(self, commit: str | None) -> tuple[str, ...]:
        """Where the walk starts."""
        return tuple(dict.fromkeys([*evidence_tips(self.refs()), *([commit] if commit else [])]))

    def walk(self, tips: tuple[str, ...]) -> History:
        """The walk itself."""
        return walk(self.git, tips)

    def refs(self) -> Sequence[Ref]:
        """Every reference, as it is now."""
        return read_refs(self.git)

    def release_tags(self) -> Sequence[TagSeen]:
        """Every reference below refs/tags/release/."""
        refs = [ref for ref in self.refs() if ref.name.startswith(RELEASES)]
        return tags_seen(refs, self.objects.read(ref.object_id for ref in refs if ref.kind == "tag"))

    def tag_sealed(self, tag: TagSeen) -> Found:
        """The signature of a tag object."""
        from tracker.store.sealed import tag_sealed

        return tag_sealed(tag.data)

    def program_facts(self) -> FactsKept:
        """What is known of the texts of programs by now."""
        return self._facts

    def record_read(self, sha256: str) -> AnyRecord | None:
        """The record in bytes that were taken apart for a ledger by now; None where they were not."""
        return self._reader.taken_apart.get(sha256)

    def expect(self, places: Sequence[tuple[str, str]]) -> int:
        """The programs (commit, path) names will be asked for in this order: read and look through them beside.

        Returns the bytes of all of them together.
        """
        from tracker.store.beforehand import Beforehand  # only who reads many long texts pays for it

        found = [one for one in self.objects.blobs_at(places) if one is not None]
        ids = [blob for blob, _ in found]
        self.objects.expect(Beforehand(self.git, ids, lambda data: read_ahead(data, self._facts)))
        return sum(size for _, size in found)

    def look_ahead(self, places: Iterable[tuple[str, str]]) -> None:
        """Read the folders and short files (commit, path) names in a few goes.

        What cannot be read is told where it is asked for.
        """
        with suppress(CouldNot):
            self.objects.read_short(self._tree_objects.look_ahead(places))

    def look(self, ref: str, object_id: str) -> TagSeen:
        """What a reference would be if it pointed at this object; raises CouldNot (``damaged``) without one."""
        found = self.objects.read([object_id])[object_id]
        if found.kind != "tag":
            return TagSeen(ref=ref, object_id=object_id, kind=found.kind)
        return tag_seen(ref, object_id, found.data)

    def _ledger_of(self, commit: str | None) -> Ledger:
        check_whole(self._shared_dir)
        history = self.history(commit)
        key = (commit, history.tips)
        if key not in self._ledgers:
            self._ledgers[key] = build_ledger(self._tree_of(commit), history, self._reader)
        return self._ledgers[key]

    def _held(self) -> int:
        return sum(tree.held for tree in self._trees.values())

    def _tree_of(self, commit: str | None) -> CommitTree:
        if commit not in self._trees:
            self._trees[commit] = CommitTree(self._tree_objects, commit)
            while len(self._trees) > _TREES_KEPT or (len(self._trees) > 2 and self._held() > _TREES_BYTES):
                self._trees.popitem(last=False)  # each holds the programs read from it
        self._trees.move_to_end(commit)
        return self._trees[commit]
