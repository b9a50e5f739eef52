"""Whether a proof is of the text of the revision it names.

Rules:

1. Its operation fingerprint is the revision's, by the same rules.
2. Every program it says was run has the name, the number and the fingerprint of the revision's program in that place, none is
   missing and none is there besides. The raw bytes may differ: what came off the control was numbered anew, or closed with blanks.
3. No raw bytes it names are known to the record as other code: the same bytes have the same code.

A proof that fails one contradicts itself. It was put together by hand, and nobody can say what was run. Rules 1 and 2 need the
two records alone, so a server holds a proof to them when it comes in.
"""

from collections.abc import Iterable

from tracker.policy.book import Book
from tracker.records.events import FileOf, ProofRecord, RevisionRecord


def unbound(proof: ProofRecord, revision: RevisionRecord) -> str | None:
    """Why a proof is not of the revision's text by rules 1 and 2, in words behind "it"; None where it is."""
    if proof.rule_version != revision.rule_version:
        return f"has a fingerprint by other rules ({proof.rule_version}, not {revision.rule_version})"
    if proof.operation_fingerprint != revision.operation_fingerprint:
        return "is of another text: its fingerprint is not that of the revision"
    if not proof.files:
        return "does not say what was run"
    odd = [name for name, _, _ in sorted(set(_codes(proof.files)) ^ set(_codes(revision.files)), key=str)]
    if odd:
        return f"names other code as run than the revision holds ({', '.join(dict.fromkeys(odd))})"
    if _codes(proof.files) != _codes(revision.files):
        return "names the programs that were run in another order than the revision"
    return None


def other_code(book: Book, proof: ProofRecord, revision: RevisionRecord) -> str | None:
    """Rule 3, in the same words."""
    known = book.once(("codes",), lambda: _known_codes(book))
    for file in proof.files:
        code = known.get((revision.rule_version, revision.strict, file.raw_sha256))
        if code is not None and file.fingerprint not in code:
            return f"names bytes as run that the record knows as other code ({file.name})"
    return None


def _codes(files: Iterable[FileOf]) -> tuple[tuple[str, int | None, str], ...]:
    """Name, number and fingerprint of each program, in order: what an operation's fingerprint is made of."""
    return tuple((file.name.upper(), file.number, file.fingerprint) for file in files)


def _known_codes(book: Book) -> dict[tuple[int, bool, str], set[str]]:
    """The fingerprints of raw bytes, by the rules they were made by; a strict operation keeps N, so its own are apart."""
    found: dict[tuple[int, bool, str], set[str]] = {}
    for entry in book.revisions.values():
        record = entry.record
        for file in record.files:
            key = (record.rule_version, record.strict, file.raw_sha256)
            found.setdefault(key, set()).add(file.fingerprint)
    return found
