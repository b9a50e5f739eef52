"""Moving the branch in hand to another commit, with exactly the files that differ, and nobody's work written over.

The order: a note of what is to be done, the files (each at once), the index, the branch with its old value named. After a
kill the note lets the next share go on: a file that already is what it is to become is no edit in the way.
"""

import json
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
from tracker.store.git_faults import GitFailedError
from tracker.store.index import DURABLE, index_entries, patiently, stage
from tracker.store.objects import object_id
from tracker.store.tree import REGULAR, Entry
from tracker.store.work_tree import read_file, write_file

NOTE = "share-moving.json"
_SHARE = Person(initials="share", name="proveout share", email="share@localhost", roles=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Mover:
    """Moves one clone; ``step`` is told how far it is; tests end the process there."""

    clone: Clone
    step: Callable[[str], None]

    def in_the_way(self, old: str | None, new: str) -> Sequence[str]:
        """Files here, staged or not, that are neither what they were nor what they are to become."""
        changed = self._changed(old, new)
        staged = index_entries(self.clone.git, list(changed))
        root = Path(self.clone.root)
        found: list[str] = []
        for path, (was, becomes) in changed.items():
            data = read_file(root, path)
            here = object_id("blob", data, like=new) if data is not None else None
            blocked = data is None and (root / path).exists()
            fine = (was.blob if was else None, becomes.blob if becomes else None)
            entry = staged.get(path)
            if blocked or here not in fine or (entry.blob if entry else None) not in fine:
                found.append(path)
        return found

    def advance(self, head: Head, new: str, why: str, person: Person, at: datetime) -> None:
        """Do it; raises Refused (``in-the-way``, ``moved``, ``detached-head``), CouldNot (``locked``, ``links-changed``)."""
        changed = self._changed(head.commit, new)
        self._only_files(changed)
        blocked = self.in_the_way(head.commit, new)
        if blocked:
            raise in_the_way(blocked)
        self._note.parent.mkdir(exist_ok=True)
        note = {"format": 1, "branch": head.branch, "from": head.commit, "to": new}
        write_file(self._note.parent, NOTE, json.dumps(note).encode("ascii"))
        self.step("noted")
        self._files(changed, new)
        self.step("files")
        stage(self.clone.git, {path: becomes for path, (_, becomes) in changed.items()})
        self.step("staged")
        self._branch(head, new, why, person, at)
        self.step("moved")
        self._note.unlink(missing_ok=True)
        frozen.replace(self.clone.git, lasting=True).attempt("update-index", "-q", "--refresh")

    def finish(self, at: datetime) -> None:
        """Go on where a killed share stopped."""
        try:
            note = json.loads(self._note.read_bytes())
            branch, old, new = note["branch"], note["from"], note["to"]
        except (OSError, ValueError, KeyError, TypeError):
            return
        head = self.clone.head()
        if (head.branch, head.commit) == (branch, old):
            self.advance(head, new, "share: gone on with", _SHARE, at)
        self._note.unlink(missing_ok=True)

    @property
    def _note(self) -> Path:
        return self.clone.git_dir / "proveout" / NOTE

    def _changed(self, old: str | None, new: str) -> dict[str, tuple[Entry | None, Entry | None]]:
        before, after = self.clone.tree(old).all_entries if old else {}, self.clone.tree(new).all_entries
        return {
            path: (before.get(path), after.get(path))
            for path in sorted(before.keys() | after.keys())
            if before.get(path) != after.get(path)
        }

    def _only_files(self, changed: dict[str, tuple[Entry | None, Entry | None]]) -> None:
        for path, entries in changed.items():
            if any(entry is not None and entry.mode not in REGULAR for entry in entries):
                raise CouldNot(
                    "links-changed",
                    "a link or submodule changed there: share brings plain files only",
                    where=path,
                    fix="bring it together with git itself: git pull; a shop's record should hold no links",
                )

    def _files(self, changed: dict[str, tuple[Entry | None, Entry | None]], new: str) -> None:
        root, tree = Path(self.clone.root), self.clone.tree(new)
        for path, (_, becomes) in changed.items():
            if becomes is None:  # first, where a folder is to take the place of a file
                _take_away(root, path)
        for path, (_, becomes) in changed.items():
            data = tree.read(path) if becomes is not None else None
            if data is not None and becomes is not None:
                if read_file(root, path) != data:
                    write_file(root, path, data)
                if becomes.mode == "100755" and os.name != "nt":
                    (root / path).chmod((root / path).stat().st_mode | 0o111)
            self.step("file")

    def _branch(self, head: Head, new: str, why: str, person: Person, at: datetime) -> None:
        git = frozen.replace(self.clone.git, lasting=True)
        move = ("update-ref", "-m", why, f"refs/heads/{head.branch}", new, head.commit or git.zero)
        try:
            patiently(lambda: git.run(*DURABLE, *move, env=commits.identity(person, at)))
        except GitFailedError as fault:
            if fault.is_lost_race:
                raise Refused(
                    "moved", "something was recorded here meanwhile", fix="run it again; nothing is lost"
                ) from fault
            raise


def in_the_way(paths: Sequence[str]) -> Refused:
    """The error for work that is not checked in and would be written over."""
    return Refused(
        "in-the-way",
        "work here that is not checked in would be written over; nothing was brought in",
        fix="check it in (proveout checkin), or put it aside, then share again",
        reasons=tuple(paths),
    )


def _take_away(root: Path, path: str) -> None:
    (root / path).unlink(missing_ok=True)
    for folder in (root / path).relative_to(root).parents:
        if not folder.parts:
            return
        with suppress(OSError):  # a folder that holds something stays
            (root / folder).rmdir()
