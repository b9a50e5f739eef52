"""A text whose O number was changed at the control, and that nothing else leads to: no stamp, no known name or place.

In its canonical form the number is put back to each one the record knows, one after the other, until the code is known.
What is found like this is a hint at what the text was; that it is another text, the comparison says.
"""

import hashlib
import re
from collections.abc import Iterator

from tracker.nc.fingerprint import head_of
from tracker.services.known import Known, KnownTexts

MOST_BYTES = 1 << 28
"""Bytes hashed for one file; a longer text is tried with fewer numbers, those recorded last."""
_NUMBER = re.compile(rb"(?m)^O\d+$")
WORD_ADDRESS = "word-address"


def under_other_number(known: KnownTexts, code: bytes) -> Iterator[Known]:
    """Texts whose canonical form this is but for the O number, newest first; nothing unless it holds just one number."""
    found = list(_NUMBER.finditer(code))
    if len(found) != 1:
        return
    before = hashlib.sha256(head_of(WORD_ADDRESS) + code[: found[0].start()])
    after = code[found[0].end() :]
    for number in known.numbers[: MOST_BYTES // (len(after) + 1)]:
        tried = before.copy()
        tried.update(b"O%d" % number)
        tried.update(after)
        yield from reversed(known.by_code(tried.hexdigest()))
