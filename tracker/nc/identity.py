"""Who a file is, and by which rules that was told."""

from tracker.frozen import dataclass

RULE_VERSION = 1
"""Of the canonical form; see `tracker.nc.canonical`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    """Who a file is.

    Attributes:
        fingerprint: SHA-256 of the code alone, 64 hex digits.
        raw_sha256: SHA-256 of the bytes.
        bytes: size of the file.
        blocks: lines of the canonical form.
        dialect: ``word-address`` or ``verbatim``.
        rule_version: of the canonical form.
        notes: what a person should know.
    """

    fingerprint: str
    raw_sha256: str
    bytes: int
    blocks: int
    dialect: str
    rule_version: int
    notes: tuple[str, ...]
