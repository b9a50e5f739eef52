"""Putting records down: file names that are free, one commit, nothing else touched."""

from collections.abc import Sequence
from dataclasses import dataclass

from tracker.digest import sha256_of
from tracker.errors import BadCall, Refused
from tracker.frozen import replace
from tracker.records.events import AnyRecord
from tracker.records.names import event_file
from tracker.records.shop import Person
from tracker.records.stored import Ledger
from tracker.services.desk import Desk
from tracker.services.ports import Head, NewFile

LATE_HOURS = 48


@dataclass(frozen=True, slots=True, kw_only=True)
class PutDown:
    """What was recorded: paths of the records in the order given, and the commit that holds them."""

    paths: tuple[str, ...]
    commit: str


def attached_head(desk: Desk) -> Head:
    """Where the clone stands; raises Refused (``detached-head``) where a record would belong to no branch."""
    head = desk.repo.head()
    if head.branch is None:
        raise Refused(
            "detached-head",
            "this working folder stands on an old state, not on a branch; a record made here would be lost",
            fix="go back to the branch with: git switch main",
        )
    return head


def put_down(
    desk: Desk,
    ledger: Ledger,
    head: Head,
    job_folder: str | None,
    records: Sequence[AnyRecord],
    *,
    author: Person,
    message: str,
) -> PutDown:
    """Commit ``records``: those of a job in its ``job_folder``, the others with the shop's; none is ever written over.

    Raises Refused (``moved``), CouldNot (``locked``).
    """
    taken = {stored.path for stored in ledger.records} | set(desk.repo.tree().paths())
    said = {stored.sha256 for stored in ledger.records}
    files: list[NewFile] = []
    for record in records:
        path = event_file(
            job_folder if record.job is not None else None,
            record.operation,
            record.revision,
            record.EVENT,
            getattr(record, "machine", None),
            record.at,
            record.by,
            taken=taken,
        )
        taken.add(path)
        files.append(NewFile(path=path, data=_told_apart(desk, record, said)))
    commit = desk.repo.commit(files, message=message, author=author, at=desk.clock.now(), expect=head)
    return PutDown(paths=tuple(file.path for file in files), commit=commit)


def _told_apart(desk: Desk, record: AnyRecord, said: set[str]) -> bytes:
    """The bytes of a record, which no other has: one that says the same in the same second is called a copy.

    A signature counts once (`tracker.policy.push_signed`), so two honest records must not have the same bytes.
    """
    data, copy = desk.repo.encode(record), 1
    while sha256_of(data) in said:
        copy += 1
        data = desk.repo.encode(replace(record, copy=copy))
    said.add(sha256_of(data))
    return data


def reason_text(reason: str | None, question: str) -> str:
    """The reason on one line; raises BadCall (``no-reason``) where a sentence is asked and none is given."""
    said = " ".join((reason or "").split())
    if not said:
        raise BadCall("no-reason", question, fix='say it with -m "..."')
    return said


def one_line(text: str | None) -> str | None:
    """A remark on one line; None for nothing said."""
    return " ".join((text or "").split()) or None
