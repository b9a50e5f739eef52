"""The whole history as `audit` looks at it (`tracker.services.ports_audit.Evidence`)."""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import TypeVar

from tracker.errors import ProveoutError
from tracker.services.ports_audit import BadObject, CommitSeen, Touched
from tracker.store import audited_before
from tracker.store.clone import Clone
from tracker.store.every_object import bad_objects
from tracker.store.git import path_text
from tracker.store.history import Change, merged_texts
from tracker.store.kept import forget, nothing_kept
from tracker.store.processes import beside, in_processes
from tracker.store.push_read import HistoryRead
from tracker.store.refs import evidence_tips
from tracker.store.whole import check_whole

T = TypeVar("T")
_CHUNK = 400
_BRANCHES = ("refs/heads/", "refs/remotes/")


class CloneEvidence:
    """The evidence in one clone; raises CouldNot as reading it does."""

    def __init__(self, clone: Clone, *, anew: bool = False, noting: bool = True) -> None:
        """Args: anew: whether nothing is believed that was noted here before, for somebody may have written it.

        noting: whether an index is begun of what is read, where there is none yet.
        """
        self._clone = clone
        self._anew = anew
        self._noting = noting

    def commits(self) -> Sequence[CommitSeen]:
        """All commits, parents first."""
        walked = self._clone.history(self._clone.head().commit).commits.values()
        return [
            CommitSeen(commit=one.commit, parents=one.parents, committed=one.committed)
            for one in sorted(walked, key=lambda each: each.order)
        ]

    def merged_texts(self) -> Sequence[Touched]:
        """Every file below ``jobs`` and ``common`` that a merge left as none of its parents had it."""
        changes = merged_texts(self._clone.git, self._tips())
        return [_touched(change) for change in changes]

    def files(self) -> Mapping[str, str]:
        """Everything in the state the clone stands on, by path -> mode and id."""
        entries = self._clone.tree().all_entries
        return {path: f"{entry.mode} {entry.blob}" for path, entry in entries.items()}

    def digests(self, places: Sequence[tuple[str, str]]) -> Sequence[str | None]:
        """SHA-256 of the files (commit, path) names; a few hundred at a time are held in memory."""
        return list(self._digests(places))

    def bad_objects(self) -> Sequence[BadObject]:
        """Everything on the disk hashed again: what does not hold the bytes its name stands for.

        Where all of it is whole, what was read from these very objects before is taken from the index from now on; an
        audit that begins anew takes the index away instead.
        """
        check_whole(self._clone.common_dir)
        if self._anew:
            forget(self._clone.common_dir)
        if nothing_kept(self._clone.common_dir):
            found = self._hashed_while_read()
        else:
            found = bad_objects(self._clone.git, self._clone.common_dir)
            if not found and not self._anew:
                self._clone.look_back()
        if not found:
            return found
        paths = self._paths()
        return [replace(one, path=paths.get(one.object_id)) for one in found]

    def _hashed_while_read(self) -> Sequence[BadObject]:
        """The same while all records are read: what is read is hashed as it is, and no index says anything yet."""
        hashing = partial(bad_objects, self._clone.git, self._clone.common_dir)
        with beside(hashing, self._clone.apart) as answer:
            if self._noting and not self._anew:
                self._clone.look_back()
            with suppress(ProveoutError):  # told where it is asked for
                self._clone.ledger()
            return answer()

    def state(self) -> str:
        """Digest of every reference with its object id and of where the clone stands."""
        return self._clone.state()

    def derived_before(self, rules: str) -> set[str]:
        """Ids of release tags an audit derived again before, under the same rules."""
        return set() if self._anew else audited_before.derived_before(self._clone.common_dir, rules)

    def note_derived(self, rules: str, tags: Iterable[str]) -> None:
        """Keep them for the next audit."""
        audited_before.note_derived(self._clone.common_dir, rules, tags)

    def found_before(self, state: str) -> Mapping[str, object] | None:
        """What an audit found in this very state, under the same rules."""
        return None if self._anew else audited_before.found_before(self._clone.common_dir, state)

    def note_found(self, state: str, found: Mapping[str, object]) -> None:
        """Keep it for the next audit."""
        audited_before.note_found(self._clone.common_dir, state, found)

    def tips(self) -> Sequence[str]:
        """What history is read from: every branch and tag, and where the clone stands."""
        return self._tips()

    def ends(self) -> Sequence[str]:
        """The commits branches stand on, and where the clone stands."""
        refs = (ref for ref in self._clone.refs() if ref.name.startswith(_BRANCHES) and ref.kind == "commit")
        head = self._clone.head().commit
        return list(dict.fromkeys([*(ref.object_id for ref in refs), *([head] if head else [])]))

    def hold_all(self, tips: Sequence[str]) -> bool:
        """Whether the history of now holds all that these lead to."""
        lines = [*tips, *(f"^{tip}" for tip in self._tips())]
        asked = "".join(f"{line}\n" for line in lines).encode("utf-8", "replace")
        status, out, _ = self._clone.git.attempt("rev-list", "--max-count=1", "--stdin", stdin=asked)
        return status == 0 and not out.strip()

    def history(self, known: Sequence[str]) -> HistoryRead:
        """All of it as a first push, without what is known already."""
        return HistoryRead(self._clone, known=known)

    def judged_before(self, rules: str) -> Mapping[str, object] | None:
        """What an audit found of commits before, under the same rules."""
        return None if self._anew else audited_before.judged_before(self._clone.common_dir, rules)

    def note_judged(self, rules: str, found: Mapping[str, object]) -> None:
        """Keep it for the next audit."""
        audited_before.note_judged(self._clone.common_dir, rules, found)

    def in_processes(self, tasks: Sequence[Callable[[], T]]) -> Iterator[tuple[int, T]]:
        """What each task answers, with its place, as they are done."""
        return in_processes(tasks, self._clone.apart)

    def _paths(self) -> Mapping[str, str]:
        """Object id -> a path it has in some state, as far as git can follow a damaged history."""
        _, out, _ = self._clone.git.attempt("rev-list", "--objects", "--all")
        rows = (row.partition(b" ") for row in out.split(b"\n"))
        return {name.decode("ascii", "replace"): path_text(path) for name, _, path in rows if path}

    def replaced(self) -> Sequence[str]:
        """References below ``refs/replace/``."""
        return [ref.name for ref in self._clone.refs() if ref.name.startswith("refs/replace/")]

    def _digests(self, places: Sequence[tuple[str, str]]) -> Iterator[str | None]:
        known: dict[str, str] = {}
        for start in range(0, len(places), _CHUNK):
            ids = self._clone.objects.blob_ids(places[start : start + _CHUNK])
            new = {blob for blob in ids if blob is not None} - known.keys()
            for blob, found in self._clone.objects.read(sorted(new)).items():
                known[blob] = hashlib.sha256(found.data).hexdigest()
            yield from (known[blob] if blob is not None else None for blob in ids)

    def _tips(self) -> Sequence[str]:
        head = self._clone.head().commit
        return list(dict.fromkeys([*evidence_tips(self._clone.refs()), *([head] if head else [])]))


def _touched(change: Change) -> Touched:
    return Touched(path=change.path, status=change.status, commit=change.commit)
