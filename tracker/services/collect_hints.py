"""What a text that came home claims about itself, and what kind of file it is. Hints for a person, never evidence."""

import re

from tracker.nc import scan
from tracker.nc.proof_words import ProofWords, proof_words

_COMMENT = re.compile(r"\(([^()\r\n]{4,200})\)")
_LONGEST = 4 * 1024 * 1024
# a number of a parameter and its values, and nothing else: from memory, no source
_PARAMETER = re.compile(rb"(?:N\d+)?(?:[ATKLM]\d+)?P-?[\d.]+(?:[ATKLMP]\d*P?-?[\d.]*)*\Z|%|O\d+\Z")
_SETTING = re.compile(rb"(?:N\d+)?(?:G10(?![0-9.])|G90|G91|#\d+=|%|O\d+\Z|M(?:02|2|30|99)\Z)")


def proof_comment(data: bytes, base: bytes | None) -> str | None:
    """Of a comment that says the program is proved and that was not in ``base``: what it claims, in words."""
    if len(data) > _LONGEST or b"PRO" not in data.upper():
        return None
    before = {one.text for one in _claims(base)} if base else set[str]()
    new = [one for one in _claims(data) if one.text not in before and (one.initials or one.date)]
    if not new:
        return None
    claim = new[-1]
    who = f" by {claim.initials}" if claim.initials else ""
    when = f", {claim.date}" if claim.date else ""
    return f"a comment says it was proved{who}{when}: ({claim.text}). A comment is no proof: sign it with proveout prove"


def settings_only(data: bytes) -> bool:
    """Whether a file holds offsets, variables or parameters of a control and no program: every block sets one."""
    blocks = scan.canonical(data).split(b"\n")[:-1]
    sets = sum(b"G10" in block or b"#" in block for block in blocks)
    if sets == 0:
        return any(b"P" in block for block in blocks) and all(_PARAMETER.match(block) for block in blocks)
    return all(_SETTING.match(block) for block in blocks)


def _claims(data: bytes) -> list[ProofWords]:
    return list(proof_words(found[1] for found in _COMMENT.finditer(data.decode("latin-1"))))
