"""When two revisions are the same text, or the same code.

Rules:

1. *Same code*: equal operation fingerprints computed by the same rules.
2. *Same bytes*: the same programs by name, number and raw SHA-256, and the same setup sheet. This holds whatever the
   rules were.
3. Fingerprints of different rule versions cannot be compared. For permission they are different; for stops a revision
   counts as the same code as its neighbour when the step between them changed numbering, wording or format only.
"""

from collections.abc import Iterable

from tracker.frozen import dataclass
from tracker.policy.book import Book, Entry
from tracker.records.events import FileOf, Origin, ProofRecord, RevisionRecord
from tracker.records.shop import CARRY

_NO_CODE = frozenset({*CARRY, "post"})


def same_code(a: RevisionRecord, b: RevisionRecord) -> bool:
    """Rule 1."""
    return a.rule_version == b.rule_version and a.operation_fingerprint == b.operation_fingerprint


def same_bytes(a: RevisionRecord, b: RevisionRecord) -> bool:
    """Rule 2."""
    if a is b:
        return True
    if a.sheet_fingerprint != b.sheet_fingerprint or len(a.files) != len(b.files):
        return False
    pairs = zip(a.files, b.files, strict=True)  # hashes first: asked of many texts, most of which are others
    return all(
        x.raw_sha256 == y.raw_sha256 and x.number == y.number and x.name.upper() == y.name.upper()
        for x, y in pairs
    )


def raw_files(files: Iterable[FileOf]) -> tuple[tuple[str, int | None, str], ...]:
    """Name, number and raw hash of each program, in order."""
    return tuple((file.name.upper(), file.number, file.raw_sha256) for file in files)


def proofs_of_text(book: Book, entry: Entry[RevisionRecord]) -> list[Entry[ProofRecord]]:
    """The proofs of this very text or of its code, by rules 1 and 2, in the order of the book.

    A proof that names a revision the book does not know is of the code whose fingerprint it states.
    """
    by_key = book.once(("proofs of texts",), lambda: _proofs_by_key(book))
    places = {place for key in _keys(entry) for place in by_key.get(key, ())}
    stated = by_key.get(("stated", entry.record.operation_fingerprint), ())
    return [book.proofs[place] for place in sorted(places.union(stated))]


_Key = tuple[object, ...]


def _proofs_by_key(book: Book) -> dict[_Key, list[int]]:
    found: dict[_Key, list[int]] = {}
    for place, proof in enumerate(book.proofs):
        revision = book.revisions.get(proof.record.revision or "")
        stated: tuple[_Key, ...] = (("stated", proof.record.operation_fingerprint),)
        for key in stated if revision is None else _keys(revision):
            found.setdefault(key, []).append(place)
    return found


def _keys(entry: Entry[RevisionRecord]) -> tuple[_Key, ...]:
    """What two revisions have in common exactly when they are one, or `same_code` or `same_bytes` says so."""
    record = entry.record
    return (
        ("name", entry.stored.name),
        ("code", record.rule_version, record.operation_fingerprint),
        ("bytes", record.sheet_fingerprint, raw_files(record.files)),
    )


def effective_post(book: Book, entry: Entry[RevisionRecord]) -> str | None:
    """The post-processor's stamp of a revision, else of the nearest earlier one that had one."""
    return book.once(("post", entry.stored.name), lambda: _nearest_post(book, entry))


def raised(book: Book, entry: Entry[RevisionRecord]) -> frozenset[str]:
    """The revisions on the way of this code to ``entry`` whose step is recorded as more than words.

    Fingerprints do not see it: a kind somebody made stricter, a post-processor nobody knows the name of. A proof made before such a
    step does not reach past it by the fingerprint alone.
    """
    return book.once(("raised", entry.stored.name), lambda: _raised(book, entry))


def _raised(book: Book, entry: Entry[RevisionRecord]) -> frozenset[str]:
    found: set[str] = set()
    seen = {entry.stored.name}
    waiting = [entry]
    while waiting:
        here = waiting.pop()
        for origin in here.record.origins:
            source = book.revisions.get(origin.revision)
            if source is None or not same_code(source.record, here.record):
                continue
            # where both stamps are known they are compared themselves: the old post-processor may be back
            stamped = effective_post(book, source) and effective_post(book, here)
            if not set(origin.kinds) <= (_NO_CODE if stamped else set(CARRY)):
                found.add(here.stored.name)
            if source.stored.name not in seen:
                seen.add(source.stored.name)
                waiting.append(source)
    return frozenset(found)


def _nearest_post(book: Book, entry: Entry[RevisionRecord]) -> str | None:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Alike:
    """Revisions a stop has to reach together: their fingerprints and their names."""

    prints: frozenset[str]
    names: frozenset[str]


def alike_for_stops(book: Book, entry: Entry[RevisionRecord]) -> Alike:
    """All revisions of the job, this one included, that a stop of this one's code has to reach (rule 3)."""
    own = Alike(prints=frozenset({entry.record.operation_fingerprint}), names=frozenset({entry.stored.name}))
    return book.once(("alike",), lambda: _classes(book)).get(entry.stored.name, own)


def _classes(book: Book) -> dict[str, Alike]:
    """Every revision with those it counts as one with: by code, by bytes, by a step of words across rules."""
    leader = {name: name for name in book.revisions}

    def find(name: str) -> str:
        while leader[name] != name:
            leader[name] = leader[leader[name]]
            name = leader[name]
        return name

    first: dict[object, str] = {}
    for name, entry in book.revisions.items():
        record = entry.record
        code = (record.rule_version, record.operation_fingerprint)
        raw = (record.sheet_fingerprint, raw_files(record.files))
        steps = (o.revision for o in record.origins if _across_rules(book, record, o))
        for other in (first.setdefault(code, name), first.setdefault(raw, name), *steps):
            leader[find(name)] = find(other)
    members: dict[str, list[str]] = {}
    for name in book.revisions:
        members.setdefault(find(name), []).append(name)
    return {name: _alike(book, members[find(name)]) for name in book.revisions}


def _alike(book: Book, names: list[str]) -> Alike:
    return Alike(
        prints=frozenset(book.revisions[name].record.operation_fingerprint for name in names),
        names=frozenset(names),
    )


def _across_rules(book: Book, record: RevisionRecord, origin: Origin) -> bool:
    """Whether a step crossed a change of rules without a change of code, as far as its record says."""
    source = book.revisions.get(origin.revision)
    return (
        source is not None
        and source.record.rule_version != record.rule_version
        and _NO_CODE.issuperset(origin.kinds)
    )
