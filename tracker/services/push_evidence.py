"""Whether what a record that comes with a push rests on lies in the same state: texts, the revision, the proof, shop.toml.

Whether the text of a revision lies where its record says:

Of a check-in that is the commit that brings the record. A text of before the record lies in an older commit, which must
be behind that one, and what the record claims of its author and date must be what that commit says.
"""

from collections.abc import Iterator

from tracker.digest import sha256_of
from tracker.errors import ProveoutError
from tracker.policy.binding import unbound
from tracker.policy.paper import paper_lacks
from tracker.policy.push import Breach
from tracker.policy.push_about import is_about
from tracker.policy.push_records import NewRecord
from tracker.policy.stops import says_what
from tracker.records.events import (
    AnyRecord,
    Before,
    CountersignRecord,
    LiftRecord,
    MeasuredRecord,
    ProofRecord,
    RevisionRecord,
    ShopRecord,
)
from tracker.records.places import SHOP
from tracker.services.ports_push import PushSeen


def evidence_breaches(seen: PushSeen, new: NewRecord) -> Iterator[Breach]:
    """Everything against what one record rests on."""
    record, commit = new.record, new.commit
    if isinstance(record, RevisionRecord):
        yield from revision_breaches(seen, new, record)
        return
    if isinstance(record, ShopRecord) and record.shop_sha256 is not None:
        data = seen.file(commit.commit, SHOP)
        if data is None or sha256_of(data) != record.shop_sha256:
            words = f"says another SHA-256 of shop.toml than commit {commit.short} holds"
            yield Breach(rule="shop-not-as-recorded", where=new.path, words=words)
    if (
        isinstance(record, CountersignRecord | MeasuredRecord)
        and seen.file(commit.commit, record.proof) is None
    ):
        words = f"commit {commit.short} does not hold {record.proof}, which it is about"
        yield Breach(rule="evidence-missing", where=new.path, words=words)
    lacks = _lacks(record)
    if lacks is not None:
        yield Breach(rule="evidence-missing", where=new.path, words=lacks)
    if record.revision is not None:
        yield from _of_revision(seen, new, f"{new.path.rpartition('/')[0]}/{record.revision}.toml")


def _lacks(record: AnyRecord) -> str | None:
    """What a record should say that it rests on, and does not."""
    if isinstance(record, ProofRecord) and record.prior is not None:
        return paper_lacks(record)
    if isinstance(record, LiftRecord) and record.machine is not None and not says_what(record):
        return f"lifts the hold of {record.machine}, and does not say what was checked there"
    return None


def record_it_is_about(seen: PushSeen, new: NewRecord) -> AnyRecord | None:
    """The record a strike, a countersign or a review speaks of, as its own state holds it; None where it does not."""
    path = is_about(new.record, new.path.rpartition("/")[0])
    data = seen.file(new.commit.commit, path) if path is not None else None
    try:
        return seen.record(data, path) if data is not None and path is not None else None
    except ProveoutError:
        return None  # said where that record came in


def _of_revision(seen: PushSeen, new: NewRecord, path: str) -> Iterator[Breach]:
    """What stands against a record that is about the revision whose record lies at ``path``."""
    data, record = seen.file(new.commit.commit, path), new.record
    if data is None:
        words = f"commit {new.commit.short} does not hold {path}, which it is about"
        yield Breach(rule="evidence-missing", where=new.path, words=words)
    elif isinstance(record, ProofRecord):
        yield from _same_text(seen, new, record, path, data)


def _same_text(
    seen: PushSeen, new: NewRecord, proof: ProofRecord, path: str, data: bytes
) -> Iterator[Breach]:
    try:
        revision = seen.record(data, path)
    except ProveoutError:
        return  # said where that record came in
    if isinstance(revision, RevisionRecord) and revision.before is not None:
        words = f"is about {proof.revision}, which is from before the record and gives no standing"
        yield Breach(rule="before-record", where=new.path, words=words)
    why = _not_its_text(proof, revision)
    if why is not None:
        yield Breach(rule="record-copied", where=new.path, words=why)


def _not_its_text(proof: ProofRecord, revision: AnyRecord) -> str | None:
    """Why a proof is of another text than what it names; made by other rules it cannot be told, and gives no standing."""
    if not isinstance(revision, RevisionRecord):
        return f"is of another text than {proof.revision}, which is no revision"
    why = unbound(proof, revision) if proof.rule_version == revision.rule_version else None
    return None if why is None else f"does not fit {proof.revision}: it {why}"


def revision_breaches(seen: PushSeen, new: NewRecord, record: RevisionRecord) -> Iterator[Breach]:
    """Everything against the text of one revision."""
    commit = new.commit.commit
    if record.before is not None:
        wrong = _not_before(seen, new, record, record.before)
        if wrong is not None:
            yield Breach(rule="before-forged", where=new.path, words=wrong)
            return
        commit = record.before.commit
    for file in record.files:
        data = seen.file(commit, file.path)
        if data is None or sha256_of(data) != file.raw_sha256:
            words = f"commit {commit[:12]} holds {'another text' if data else 'no file'} as {file.path}"
            yield Breach(rule="text-not-recorded", where=new.path, words=words)


def _not_before(seen: PushSeen, new: NewRecord, record: RevisionRecord, before: Before) -> str | None:
    """Why a record of before the record is none, in words."""
    said = seen.claims(before.commit)
    if (
        said is None
        or before.commit == new.commit.commit
        or not seen.descends(new.commit.commit, before.commit)
    ):
        return f"names {before.commit[:12]}, which is no commit behind it"
    if (before.author, before.email) != (said.author or Before.NOBODY, said.email or None):
        return f"names {before.author} as its author, and commit {before.commit[:12]} names {said.author or 'nobody'}"
    if record.at not in (said.authored, record.entered):
        return f"says it is of {record.at:%Y-%m-%d %H:%M} UTC, and commit {before.commit[:12]} says otherwise"
    return None
