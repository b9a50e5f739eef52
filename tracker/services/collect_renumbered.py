"""A text whose O number was changed at the control, and that nothing else leads to: no stamp, no known name or place.

In its canonical form the number is put back to each one the record knows, one after the other, until the code is known.
Where many files ask, that is as much work as files times numbers: once it has cost what reading every text would, each
text is read, and a file looked up by its code without the number. Both give the same texts. What is found like this is
a hint at what the text was; that it is another text, the comparison says.
"""

import hashlib
import re
from collections.abc import Iterator

from tracker.errors import CouldNot
from tracker.nc import scan
from tracker.nc.fingerprint import head_of
from tracker.nc.identity import RULE_VERSION
from tracker.services.known import Known, KnownTexts

MOST_BYTES = 1 << 28
"""Bytes hashed for one file; a longer text is tried with fewer numbers, those recorded last."""
TRIES_FOR_A_TEXT = 1000
"""Numbers of short files tried in the time a text of the record is read and scanned (measured, roughly)."""
_NUMBER = re.compile(rb"(?m)^O\d+$")
WORD_ADDRESS = "word-address"


class Renumbered:
    """Looks for texts under other numbers, for the files of one stick."""

    def __init__(self, known: KnownTexts, tries_for_a_text: int = TRIES_FOR_A_TEXT) -> None:
        """Args: known: all texts. tries_for_a_text: after so many tries for each text all texts are read."""
        self._known = known
        self._left = tries_for_a_text * len(known.texts)
        self._places: dict[int, int] | None = None
        self._without: dict[bytes, list[tuple[int, str]]] = {}

    def texts(self, code: bytes) -> Iterator[Known]:
        """Texts whose canonical form this is but for the O number, newest first; nothing unless it holds just one number."""
        found = list(_NUMBER.finditer(code))
        if len(found) != 1:
            return
        numbers = self._known.numbers[: MOST_BYTES // (len(code) - found[0].end() + 1)]
        self._left -= len(numbers)
        prints = self._looked_up if self._left < 0 else self._tried
        for fingerprint in prints(code, found[0], len(numbers)):
            yield from reversed(self._known.by_code(fingerprint))

    def _tried(self, code: bytes, found: "re.Match[bytes]", count: int) -> Iterator[str]:
        before, after = hashlib.sha256(head_of(WORD_ADDRESS) + code[: found.start()]), code[found.end() :]
        for number in self._known.numbers[:count]:
            tried = before.copy()
            tried.update(b"O%d" % number)
            tried.update(after)
            yield tried.hexdigest()

    def _looked_up(self, code: bytes, found: "re.Match[bytes]", count: int) -> Iterator[str]:
        if self._places is None:
            self._places = {number: place for place, number in enumerate(self._known.numbers)}
            self._read()
        places = self._places
        alike = self._without.get(_without(code, found), ())
        yield from (print_ for place, print_ in sorted(alike) if place < min(count, len(places)))

    def _read(self) -> None:
        """Every text that may be found by its code, once, whatever number it has."""
        done: set[str] = set()
        for known in self._known.texts:
            plain = known.record.rule_version == RULE_VERSION and not known.record.strict
            if not plain or known.file.fingerprint in done or known.file.dialect != WORD_ADDRESS:
                continue
            try:
                code = scan.canonical(self._known.bytes_of(known))
            except CouldNot:  # lost: nothing can be compared with it
                continue
            done.add(known.file.fingerprint)
            found = list(_NUMBER.finditer(code))
            place = self._place(found[0][0]) if len(found) == 1 else None
            if place is not None:
                self._without.setdefault(_without(code, found[0]), []).append((place, known.file.fingerprint))

    def _place(self, word: bytes) -> int | None:
        """Where the number of ``O1001`` stands among those that are tried; None where it would not be."""
        number = int(word[1:])
        spelled_so = word == b"O%d" % number
        return (self._places or {}).get(number) if spelled_so else None


def _without(code: bytes, found: "re.Match[bytes]") -> bytes:
    rest = hashlib.sha256(b"%d " % found.start())
    rest.update(code[: found.start()])
    rest.update(code[found.end() :])
    return rest.digest()
