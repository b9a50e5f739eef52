"""What signatures were found to be, kept from one call to the next for verbs that look at the index (`tracker.store.kept`).

Whether a signature holds, and by which key, follows from the bytes of the record and of the signature alone, so an answer
under the ids of both holds for as long as the same rules look at them. Whose key it is, and since when, is asked anew.
"""

from collections.abc import Iterable, Mapping

from tracker.records.stored import Found, SealPair
from tracker.store.kept import Kept
from tracker.store.sshsig import SIGNATURE_RULES

_KIND = f"seal {SIGNATURE_RULES}"
_BY, _NOT = "by", "not"


class KeptSeals:
    """Answers by the ids of a record's blob and of its signature's."""

    def __init__(self, kept: Kept) -> None:
        self._kept = kept

    def get(self, pairs: Iterable[SealPair]) -> dict[SealPair, Found]:
        """What is kept of these."""
        found: dict[SealPair, Found] = {}
        for key, value in self._kept.get(_KIND, (" ".join(pair) for pair in pairs)).items():
            answer = _from(value)
            if answer is not None:
                record, signature = key.split(" ")
                found[record, signature] = answer
        return found

    def put(self, seals: Mapping[SealPair, Found]) -> None:
        """Keep these."""
        rows = {
            " ".join(pair): (f"{_BY} {found.key}" if found.key else f"{_NOT} {found.fault}").encode()
            for pair, found in seals.items()
        }
        self._kept.put(_KIND, rows)


def _from(value: bytes) -> Found | None:
    """The answer in a row, None where it is not as this version writes it."""
    kind, _, said = value.decode("utf-8", "replace").partition(" ")
    if kind not in (_BY, _NOT) or not said:
        return None
    return Found(there=True, key=said) if kind == _BY else Found(there=True, fault=said)
