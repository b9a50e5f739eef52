"""Where the signature of a record lies, and what signatures are made for: constants that cost nothing to import.

The signature of ``r0003-7f3a09c2.toml`` is the file ``r0003-7f3a09c2.toml.sig`` beside it, in the same commit: the armoured
form of OpenSSH's PROTOCOL.sshsig over the bytes of the record's file. A release tag is signed in git's own SSH form: the
armour stands at the end of the tag object and covers what stands before it.
"""

NAMESPACE = "proof@proveout"
"""What the signature of a record is made for; one made for anything else does not count here."""
TAG_NAMESPACE = "git"
"""What git makes its signatures for."""
SUFFIX = ".sig"
ARMOUR = "-----BEGIN SSH SIGNATURE-----"
OPTIONAL, REQUIRED = "optional", "required"
"""The two values of ``signatures`` in shop.toml's policy."""

_STOPS, _MAY_REJECT = ("hold", "withdraw"), ("proof", "measured")


def is_stop(event: object, result: object = None) -> bool:
    """Whether a record of this event only stops use: a hold, a withdrawal, a rejected proof or first piece.

    Nobody may be hindered from stopping by a key that is not at hand, so such a record may go unsigned everywhere.
    """
    return event in _STOPS or (event in _MAY_REJECT and result == "rejected")


def signature_path(record: str) -> str:
    """The path of the signature that belongs to the record file ``record``."""
    return record + SUFFIX


def signed_path(signature: str) -> str | None:
    """The path of the record a signature file belongs to; None for a path that is no signature's."""
    return signature.removesuffix(SUFFIX) if signature.endswith(".toml" + SUFFIX) else None
