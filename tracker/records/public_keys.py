"""Public keys as people write them in shop.toml: one line as in ``id_ed25519.pub``, ``ssh-ed25519 AAAA... [remark]``.

Two lines are the same key when their bytes are, whatever remark stands behind. The layout of the bytes is RFC 4253
section 6.6, RFC 5656 section 3.1 and RFC 8709 section 4.
"""

import binascii

from tracker.digest import sha256_of
from tracker.frozen import dataclass

ED25519 = "ssh-ed25519"
ECDSA_256 = "ecdsa-sha2-nistp256"
RSA = "ssh-rsa"
KINDS = (ED25519, ECDSA_256, RSA)
"""Kinds of key a signature is verified with here."""
_MOST = 4096
_SHORT = 12
_LENGTH = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class PublicKey:
    """A key: its ``kind`` and its bytes in hexadecimal digits (``blob``), which also hold the kind."""

    kind: str
    blob: str


def public_key(text: str) -> PublicKey | str:
    """The key a line holds, or what is wrong with the line, in words."""
    words = text.split()
    if len(text) > _MOST or len(words) < 2 or not text.isprintable():
        return "is no public key: write the one line of the .pub file, like ssh-ed25519 AAAA... np"
    kind, coded = words[0], words[1]
    try:
        blob = binascii.a2b_base64(coded.encode("ascii"), strict_mode=True)
    except (ValueError, UnicodeEncodeError):
        return "is no public key: its second word is not what a .pub file holds; copy the line whole"
    named = first_string(blob)
    if named is None or named.decode("ascii", "replace") != kind:
        return f"is no public key of the kind {kind}: copy the line of the .pub file whole"
    if kind not in KINDS:
        return f"is a key of the kind {kind}, which is not verified here; use one of {', '.join(KINDS)}"
    if kind == ED25519 and len(blob) != 2 * _LENGTH + len(ED25519) + 32:
        return "is cut off, or has too much behind it: copy the line of the .pub file whole"
    return PublicKey(kind=kind, blob=blob.hex())


def key_line(blob: bytes) -> str:
    """``ssh-ed25519 AAAA...`` of the bytes of a key."""
    kind = (first_string(blob) or b"?").decode("ascii", "replace")
    return f"{kind} {binascii.b2a_base64(blob, newline=False).decode('ascii')}"


def same_key(a: str, b: str) -> bool:
    """Whether two lines are the same key; a line that is none equals nothing."""
    one, other = public_key(a), public_key(b)
    return not isinstance(one, str) and one == other


def key_print(line: str) -> str:
    """``SHA256:`` and the opening of the print of a public key, as ``ssh-keygen -l`` shows it whole."""
    try:
        data = binascii.a2b_base64(line.split()[1].encode("ascii"), strict_mode=True)
    except (IndexError, ValueError):
        return "not readable"
    coded = binascii.b2a_base64(bytes.fromhex(sha256_of(data)), newline=False).decode("ascii")
    return f"SHA256:{coded[:_SHORT]}"


def first_string(blob: bytes) -> bytes | None:
    """The string the bytes open with (its length in four bytes, then itself), None where they are cut off."""
    length = int.from_bytes(blob[:_LENGTH], "big")
    found = blob[_LENGTH : _LENGTH + length]
    return found if len(blob) >= _LENGTH + length else None
