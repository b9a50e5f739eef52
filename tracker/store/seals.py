"""Signatures of records and tags looked at: which key one holds by, or why it does not. Whose key that is, is asked elsewhere."""

from tracker.records.signatures import ARMOUR
from tracker.store.sshsig import BadSignatureError, verify

_START = b"\n" + ARMOUR.encode("ascii")


def seal(message: bytes, armoured: bytes, namespace: str) -> tuple[str | None, str]:
    """The line of the key that signed ``message``, or None and the fault, to go behind "has a signature that".

    Raises CouldNot (``no-cryptography``).
    """
    try:
        return verify(message, armoured, namespace), ""
    except BadSignatureError as fault:
        return None, str(fault)


def tag_parts(data: bytes) -> tuple[bytes, bytes]:
    """The text of a tag object and the armour behind it, empty where it is not signed so.

    As git reads it, the armour is what begins with the last line that opens one (parse_signed_buffer in gpg-interface.c).
    """
    place = data.rfind(_START)
    return (data, b"") if place < 0 else (data[: place + 1], data[place + 1 :])
