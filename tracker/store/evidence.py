"""The whole history as `audit` looks at it (`tracker.services.ports_audit.Evidence`)."""

import hashlib
from collections.abc import Iterator, Sequence

from tracker.services.ports_audit import CommitSeen, Touched
from tracker.store.clone import Clone
from tracker.store.history import Change, merged_texts, record_changes
from tracker.store.refs import evidence_tips

_CHUNK = 400


class CloneEvidence:
    """The evidence in one clone; raises CouldNot as reading it does."""

    def __init__(self, clone: Clone) -> None:
        self._clone = clone

    def commits(self) -> Sequence[CommitSeen]:
        """All commits, parents first."""
        walked = self._clone.history(self._clone.head().commit).commits.values()
        return [
            CommitSeen(commit=one.commit, parents=one.parents, committed=one.committed)
            for one in sorted(walked, key=lambda each: each.order)
        ]

    def record_changes(self) -> Sequence[Touched]:
        """Every change or removal of a file below a folder for records."""
        changes = record_changes(self._clone.git, self._tips())
        return [_touched(change) for change in changes]

    def merged_texts(self) -> Sequence[Touched]:
        """Every file below ``jobs`` and ``common`` that a merge left as none of its parents had it."""
        changes = merged_texts(self._clone.git, self._tips())
        return [_touched(change) for change in changes]

    def digests(self, places: Sequence[tuple[str, str]]) -> Sequence[str | None]:
        """SHA-256 of the files (commit, path) names; a few hundred at a time are held in memory."""
        return list(self._digests(places))

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
