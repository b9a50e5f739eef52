"""Fingerprints: SHA-256 (FIPS 180-4) over the rule version, the dialect and the canonical form, and nothing else.

Covered are the bytes ``proveout canonical <rule version> <dialect>``, LF, and then the canonical form. Fingerprints of
different rule versions are never compared.
"""

from collections.abc import Callable, Iterable

from tracker.digest import Sha256, sha256_of
from tracker.nc import dialect
from tracker.nc.identity import RULE_VERSION, Identity
from tracker.nc.plan import survey
from tracker.nc.source import PAGE, Source
from tracker.nc.writer import code_of, verbatim_code

__all__ = ["Identity", "fingerprint_of", "head_of", "identity", "identity_of_chunks"]


def head_of(dialect_name: str) -> bytes:
    """The bytes a fingerprint covers before the canonical form."""
    return f"proveout canonical {RULE_VERSION} {dialect_name}\n".encode("ascii")


def fingerprint_of(code: bytes, dialect_name: str) -> str:
    """The fingerprint of a canonical form; a strict one differs in its code alone."""
    return sha256_of(head_of(dialect_name) + code)


class _Hash:
    """Takes canonical code in pieces."""

    def __init__(self, dialect_name: str) -> None:
        self._sha = Sha256(head_of(dialect_name))
        self.blocks = 0

    def take(self, code: bytes) -> None:
        self._sha.update(code)
        self.blocks += code.count(b"\n")

    @property
    def digest(self) -> str:
        return self._sha.hexdigest()


def identity(data: bytes, *, strict: bool = False) -> Identity:
    """The identity of bytes at hand."""
    return identity_of_chunks(
        lambda: (data[at : at + PAGE] for at in range(0, len(data), PAGE)), strict=strict
    )


def identity_of_chunks(open_chunks: Callable[[], Iterable[bytes]], *, strict: bool = False) -> Identity:
    """The identity of a program that is read in pieces, with memory for a few of them only.

    Args:
        open_chunks: opens the program anew and hands it out in pieces; called several times, and must give the same
            bytes every time.
        strict: every line number stays code.
    """
    raw, size = Sha256(), 0
    for chunk in open_chunks():
        raw.update(chunk)
        size += len(chunk)
    source = Source.of(open_chunks)
    covered = _Hash(dialect.WORD_ADDRESS)
    plan = survey(source, strict=strict, sink=covered.take)
    if not plan.as_guessed:
        covered = _Hash(plan.dialect)
        write = verbatim_code if plan.dialect == dialect.VERBATIM else code_of
        for code in write(source, plan):
            covered.take(code)
    return Identity(
        fingerprint=covered.digest,
        raw_sha256=raw.hexdigest(),
        bytes=size,
        blocks=covered.blocks,
        dialect=plan.dialect,
        rule_version=RULE_VERSION,
        notes=plan.notes,
    )
