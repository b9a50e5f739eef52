"""The signatures beside records, as they came in: read all at once when the first one is asked for, verified one by one.

A signature counts as it stands in the commit that brought its record in. One that was put beside it later, or another one in
its place, is for the audit to tell.
"""

from functools import cached_property

from tracker.records.places import is_record
from tracker.records.signatures import NAMESPACE, TAG_NAMESPACE, signature_path, signed_path
from tracker.records.stored import UNSEALED, Found, Stored
from tracker.store.history import History
from tracker.store.objects import Objects

_LIMIT = 16 * 1024


class Sealed:
    """`tracker.records.stored.Ledger.sealed` of one history."""

    def __init__(self, history: History, objects: Objects) -> None:
        self._history = history
        self._objects = objects
        self._known: dict[tuple[str, str], Found] = {}

    def __call__(self, stored: Stored) -> Found:
        """What was found; raises CouldNot (``no-cryptography``, ``damaged``)."""
        key = (stored.commit, stored.path)
        if key not in self._known:
            self._known[key] = self._found(key)
        return self._known[key]

    def _found(self, key: tuple[str, str]) -> Found:
        blobs = self._pairs.get(key)
        if blobs is None:
            return UNSEALED
        read = self._objects.read(blobs)
        record, armoured = (read[blob].data for blob in blobs)
        return sealed(record, armoured, NAMESPACE)

    @cached_property
    def _pairs(self) -> dict[tuple[str, str], tuple[str, str]]:
        """Commit and path of every signed record -> ids of the record and of its signature."""
        files = {
            (change.commit, change.path): change.blob
            for change in self._history.changes
            if change.status in ("A", "M") and change.mode.startswith("100")
        }
        found: dict[tuple[str, str], tuple[str, str]] = {}
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
