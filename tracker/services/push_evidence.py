"""Whether the text of a revision that comes with a push lies where its record says.

Of a check-in that is the commit that brings the record. A text of before the record lies in an older commit, which must
be behind that one, and what the record claims of its author and date must be what that commit says.
"""

from collections.abc import Iterator

from tracker.digest import sha256_of
from tracker.policy.push import Breach
from tracker.policy.push_records import NewRecord
from tracker.records.events import Before, RevisionRecord
from tracker.services.ports_push import PushSeen


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
