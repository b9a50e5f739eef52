"""Moving the branch in hand to another commit, with exactly the files that differ, and nobody's work written over.

The order: a note of what is to be done, the files (each at once), the index, the branch with its old value named. While
the note is there, texts in the folder may be what came in and nobody's edit. So whoever opens the clone next settles it
first (`tracker.store.sharing_settle`), and nothing the move touches is checked in before that.
"""

import os
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tracker import frozen
from tracker.errors import CouldNot, Refused
from tracker.records.shop import Person
from tracker.services.ports import Head
from tracker.store import commit as commits
from tracker.store.clone import Clone
from tracker.store.git import Git
from tracker.store.git_faults import GitFailedError
from tracker.store.index import DURABLE, index_entries, patiently, stage
from tracker.store.objects import object_id
from tracker.store.sharing_note import Note, drop_note, put_note
from tracker.store.tree import REGULAR, Entry
from tracker.store.work_tree import read_file, write_file

Changes = dict[str, tuple[Entry | None, Entry | None]]
"""Path -> what it was and what it becomes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mover:
    """Moves one clone; ``step`` is told how far it is; tests end the process there. ``git``: what writes for it."""

    clone: Clone
    step: Callable[[str], None] = lambda _: None
    git: Git

    def in_the_way(self, old: str | None, new: str, *, gone_is_fine: bool = False) -> Sequence[str]:
        """Files here, staged or not, that are neither what they were nor what they are to become.

        ``gone_is_fine``: a file that is not there is in nobody's way.
        """
        changed = changes(self.clone, old, new)
        staged = index_entries(self.clone.git, list(changed))
        root = Path(self.clone.root)
        found: list[str] = []
        for path, (was, becomes) in changed.items():
            data = read_file(root, path)
            here = object_id("blob", data, like=new) if data is not None else None
            blocked = data is None and (root / path).exists()
            fine = (was.blob if was else None, becomes.blob if becomes else None)
            entry = staged.get(path)
            there = here in fine or (gone_is_fine and data is None)
            if blocked or not there or (entry.blob if entry else None) not in fine:
                found.append(path)
        return found

    def advance(self, head: Head, new: str, why: str, person: Person, at: datetime) -> None:
        """Do it; raises Refused (``in-the-way``, ``moved``, ``detached-head``), CouldNot (``locked``, ``links-changed``)."""
        self._only_files(changes(self.clone, head.commit, new))
        blocked = self.in_the_way(head.commit, new)
        if blocked:
            raise in_the_way(blocked)
        note = Note(branch=head.branch, old=head.commit, new=new, at=at)
        put_note(self.clone.git_dir, note)
        self.step("noted")
        self.carry_out(head, note, why, person)

    def carry_out(self, head: Head, note: Note, why: str, person: Person) -> None:
        """What the note says, from wherever it stands, and then the note goes away."""
        changed = changes(self.clone, head.commit, note.new)
        self._files(changed, note.new)
        self.step("files")
        stage(self.git, {path: becomes for path, (_, becomes) in changed.items()})
        self.step("staged")
        self._branch(head, note.new, why, person, note.at)
        self.step("moved")
        drop_note(self.clone.git_dir)
        frozen.replace(self.git, lasting=True).attempt("update-index", "-q", "--refresh")

    def _only_files(self, changed: Changes) -> None:
        for path, entries in changed.items():
            if any(entry is not None and entry.mode not in REGULAR for entry in entries):
                raise CouldNot(
                    "links-changed",
                    "a link or submodule changed there: share brings plain files only",
                    where=path,
                    fix="bring it together with git itself: git pull; a shop's record should hold no links",
                )

    def _files(self, changed: Changes, new: str) -> None:
        root, tree = Path(self.clone.root), self.clone.tree(new)
        for path, (_, becomes) in changed.items():
            if becomes is None:  # first, where a folder is to take the place of a file
                take_away(root, path)
        for path, (_, becomes) in changed.items():
            data = tree.read(path) if becomes is not None else None
            if data is not None and becomes is not None:
                if read_file(root, path) != data:
                    write_file(root, path, data)
                if becomes.mode == "100755" and os.name != "nt":
                    (root / path).chmod((root / path).stat().st_mode | 0o111)
            self.step("file")

    def _branch(self, head: Head, new: str, why: str, person: Person, at: datetime) -> None:
        git = frozen.replace(self.git, lasting=True)
        move = ("update-ref", "-m", why, f"refs/heads/{head.branch}", new, head.commit or git.zero)
        try:
            patiently(lambda: git.run(*DURABLE, *move, env=commits.identity(person, at)))
        except GitFailedError as fault:
            if self.clone.head().commit == new:
                return  # a git of a killed call, which was to do the same, was faster
            if fault.is_lost_race:
                raise Refused(
                    "moved", "something was recorded here meanwhile", fix="run it again; nothing is lost"
                ) from fault
            raise


def changes(clone: Clone, old: str | None, new: str) -> Changes:
    """The paths in which two commits differ, sorted."""
    before, after = clone.tree(old).all_entries if old else {}, clone.tree(new).all_entries
    return {
        path: (before.get(path), after.get(path))
        for path in sorted(before.keys() | after.keys())
        if before.get(path) != after.get(path)
    }


def in_the_way(paths: Sequence[str]) -> Refused:
    """The error for work that is not checked in and would be written over."""
    return Refused(
        "in-the-way",
        "work here that is not checked in would be written over; nothing was brought in",
        fix="check it in (proveout checkin), or put it aside, then share again",
        reasons=tuple(paths),
    )


def take_away(root: Path, path: str) -> None:
    """Remove a file, and the folders that hold nothing any more."""
    (root / path).unlink(missing_ok=True)
    for folder in (root / path).relative_to(root).parents:
        if not folder.parts:
            return
        with suppress(OSError):  # a folder that holds something stays
            (root / folder).rmdir()
