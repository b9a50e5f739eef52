"""When two revisions are the same text, or the same code.

Rules:

1. *Same code*: equal operation fingerprints computed by the same rules.
2. *Same bytes*: the same programs by name, number and raw SHA-256, and the same setup sheet. This holds whatever the
   rules were.
3. Fingerprints of different rule versions cannot be compared. For permission they are different; for stops a revision
   counts as the same code as its neighbour when the step between them changed numbering, wording or format only.
"""

from collections.abc import Iterable

from tracker.policy.book import Book, Entry
from tracker.records.events import FileOf, RevisionRecord
from tracker.records.shop import CARRY

_NO_CODE = frozenset({*CARRY, "post"})


def same_code(a: RevisionRecord, b: RevisionRecord) -> bool:
    """Rule 1."""
    return a.rule_version == b.rule_version and a.operation_fingerprint == b.operation_fingerprint


def same_bytes(a: RevisionRecord, b: RevisionRecord) -> bool:
    """Rule 2."""
    return a.sheet_fingerprint == b.sheet_fingerprint and raw_files(a.files) == raw_files(b.files)


def raw_files(files: Iterable[FileOf]) -> tuple[tuple[str, int | None, str], ...]:
    """Name, number and raw hash of each program, in order."""
    return tuple((file.name.upper(), file.number, file.raw_sha256) for file in files)


def effective_post(book: Book, entry: Entry[RevisionRecord]) -> str | None:
    """The post-processor's stamp of a revision, else of the nearest earlier one that had one."""
    seen: set[str] = set()
    waiting = [entry]
    while waiting:
        here = waiting.pop(0)
        if here.record.post is not None:
            return here.record.post
        seen.add(here.stored.name)
        names = [o.revision for o in here.record.origins if o.revision not in seen]
        waiting += [book.revisions[name] for name in names if name in book.revisions]
    return None


def alike_for_stops(book: Book, entry: Entry[RevisionRecord]) -> tuple[Entry[RevisionRecord], ...]:
    """All revisions of the job, this one included, that a stop of this one's code has to reach (rule 3)."""
    found = {entry.stored.name: entry}
    waiting = [entry]
    while waiting:
        here = waiting.pop()
        for name, other in book.revisions.items():
            if name not in found and _alike(here, other):
                found[name] = other
                waiting.append(other)
    return tuple(found.values())


def _alike(a: Entry[RevisionRecord], b: Entry[RevisionRecord]) -> bool:
    if same_code(a.record, b.record) or same_bytes(a.record, b.record):
        return True
    return a.record.rule_version != b.record.rule_version and (_next_to(a, b) or _next_to(b, a))


def _next_to(later: Entry[RevisionRecord], earlier: Entry[RevisionRecord]) -> bool:
    """Whether ``later`` came from ``earlier`` without a change of code, as far as its record says."""
    return any(
        origin.revision == earlier.stored.name and _NO_CODE.issuperset(origin.kinds)
        for origin in later.record.origins
    )
