"""The signatures beside records, as they came in: read and verified when they are asked for.

A signature counts as it stands in the commit that brought its record in. One that was put beside it later, or another one in
its place, is for the audit to tell.
"""

from collections.abc import Collection, Mapping
from functools import cached_property

from tracker.records.places import is_record
from tracker.records.signatures import NAMESPACE, TAG_NAMESPACE, signature_path, signed_path
from tracker.records.stored import UNSEALED, Found, SealPair, Stored
from tracker.store.history import History
from tracker.store.objects import Objects

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from tracker.store.kept_seals import KeptSeals

_LIMIT = 16 * 1024
_TOGETHER = 1000


class Seals:
    """What is known of signatures by now, by the ids of a record's blob and of its signature's."""

    def __init__(self, objects: Objects) -> None:
        self.kept: KeptSeals | None = None
        """What was found before, for verbs that look at the index."""
        self._objects = objects
        self._known: dict[SealPair, Found] = {}

    def look(self, pairs: Collection[SealPair]) -> Mapping[SealPair, Found]:
        """What was found of these at least; raises CouldNot (``no-cryptography``, ``damaged``)."""
        new = [pair for pair in dict.fromkeys(pairs) if pair not in self._known]
        if self.kept is not None and new:
            self._known |= self.kept.get(new)
            new = [pair for pair in new if pair not in self._known]
        for start in range(0, len(new), _TOGETHER):
            some = new[start : start + _TOGETHER]
            read = self._objects.read(blob for pair in some for blob in pair)
            for record, signature in some:
                found = sealed(read[record].data, read[signature].data, NAMESPACE)
                self._known[record, signature] = found
        if self.kept is not None and new:
            self.kept.put({pair: self._known[pair] for pair in new})
        return self._known


class Sealed:
    """`tracker.records.stored.Ledger.sealed` of one history.

    What only looks back is asked about most records, so all are looked at together; a gate or a release of one job pays
    for those of that job alone.
    """

    def __init__(self, history: History, seals: Seals) -> None:
        self._history = history
        self._seals = seals

    def __call__(self, stored: Stored) -> Found:
        """What was found; raises CouldNot (``no-cryptography``, ``damaged``)."""
        pair = self._pairs.get((stored.commit, stored.path))
        if pair is None:
            return UNSEALED
        return (self._all if self._seals.kept is not None else self._seals.look((pair,)))[pair]

    @cached_property
    def _all(self) -> Mapping[SealPair, Found]:
        return self._seals.look(self._pairs.values())

    @cached_property
    def _pairs(self) -> dict[tuple[str, str], SealPair]:
        """Commit and path of every signed record -> ids of the record and of its signature."""
        files = {
            (change.commit, change.path): change.blob
            for change in self._history.changes
            if change.status in ("A", "M") and change.mode.startswith("100")
        }
        found: dict[tuple[str, str], SealPair] = {}
        for (commit, path), blob in files.items():
            record = signed_path(path)
            if record is None or not is_record(record) or signature_path(record) != path:
                continue
            if (commit, record) in files:
                found[commit, record] = (files[commit, record], blob)
        return found


def sealed(message: bytes, armoured: bytes, namespace: str) -> Found:
    """A signature looked at; raises CouldNot (``no-cryptography``)."""
    from tracker.store.seals import seal  # only a shop that signs pays for it

    if len(armoured) > _LIMIT:
        return Found(there=True, fault="is too long to be one")
    key, fault = seal(message, armoured, namespace)
    return Found(there=True, key=key, fault=fault)


def tag_sealed(data: bytes) -> Found:
    """The signature of a tag object; raises CouldNot (``no-cryptography``)."""
    from tracker.store.seals import tag_parts

    text, armoured = tag_parts(data)
    return sealed(text, armoured, TAG_NAMESPACE) if armoured else UNSEALED
