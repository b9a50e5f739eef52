"""The recorded revision a verb acts on, with what is needed to add a record to it.

`target` finds it; `untouched` refuses when the working folder does not hold what was recorded, so that nobody puts
his name to a text that is not there.
"""

from dataclasses import dataclass

from tracker.errors import BadCall, Refused
from tracker.policy.find import newest, number_of
from tracker.records.events import RevisionRecord
from tracker.records.shop import Shop
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk
from tracker.services.locate import locate
from tracker.services.naming import Named
from tracker.services.operation_text import operation_text
from tracker.services.paths import folder_of, name_of
from tracker.services.ports import Head
from tracker.services.recorded import recorded
from tracker.services.recording import attached_head
from tracker.services.revision_text import job_path_of, revision_record, shown_name

# a job.toml nobody can read: to be put right first, and no check-in would do that
_UNREADABLE = ("broken-toml", "not-utf8", "wrong-job-file")


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A revision, the ledger it was found in, and the head the decision is made on."""

    head: Head
    ledger: Ledger
    stored: Stored
    record: RevisionRecord
    job: str
    operation: str
    is_newest: bool

    @property
    def shop(self) -> Shop:
        """shop.toml in hand."""
        return self.ledger.shop

    @property
    def job_folder(self) -> str:
        """``jobs/4471``."""
        return folder_of(job_path_of(self.stored))

    @property
    def label(self) -> str:
        """``r5``, with its digits where two revisions have the number."""
        return shown_name(self.stored, self.ledger)

    @property
    def spelled(self) -> str:
        """``4471/op10 r5``."""
        return f"{self.job}/{self.operation} {self.label}"

    @property
    def display_id(self) -> str:
        """The 8 digits that are read back at the machine."""
        return self.record.operation_fingerprint[:8].upper()

    @property
    def number(self) -> int:
        """5 of r5."""
        return number_of(self.stored.name)


def target(desk: Desk, named: Named) -> Target:
    """The revision ``named`` means, the newest where it names none.

    Raises BadCall (``unknown-job``, ``unknown-operation``, ``which-operation``, ``unknown-revision``,
    ``ambiguous-revision``), Refused (``detached-head``, ``before-record``) and what reading the repository raises.
    """
    head = attached_head(desk)
    found = recorded(desk, named)
    _of_the_record(found.stored, found.job, found.operation)
    newer = newest(found.ledger, found.job, found.operation)
    return Target(
        head=head,
        ledger=found.ledger,
        stored=found.stored,
        record=revision_record(found.stored),
        job=found.job,
        operation=found.operation,
        is_newest=[one.name for one in newer] == [found.stored.name],
    )


def _of_the_record(stored: Stored, job: str, operation: str) -> None:
    """Refuse a text of before the record: nothing is put down about one, it is checked in anew first."""
    if stored.before is not None:
        name = f"r{number_of(stored.name)}"
        raise Refused(
            "before-record",
            f"{job}/{operation} {name} is from before the record: it is there to be read and compared, and gives no standing",
            where=stored.path,
            fix=f'make it the next revision first: proveout checkin {job}/{operation} --from {name} -m "why"',
        )


def untouched(desk: Desk, found: Target) -> None:
    """Refuse where the operation's own programs or its job.toml are not what was recorded.

    Edits not checked in are refused whatever revision is meant; of the newest revision the committed files are
    compared with the record too (somebody may have committed past the tool).

    Raises Refused (``uncommitted-edits``, ``not-the-revision``), BadCall for a job.toml that cannot be read.
    """
    newer = newest(found.ledger, found.job, found.operation)
    paths = {job_path_of(found.stored), *(file.path for file in found.record.files)}
    paths |= {file.path for one in newer for file in revision_record(one).files}
    paths |= _paths_now(desk, found)
    edited = list(desk.repo.uncommitted(sorted(paths)))
    check_in = f'proveout checkin {found.job}/{found.operation} -m "why"'
    if edited:
        raise Refused(
            "uncommitted-edits",
            f"{name_of(edited[0])} was edited and not checked in",
            where=edited[0],
            fix=f"check it in first ({check_in}), or put it back as it was",
            reasons=tuple(edited[1:]),
        )
    different = _committed_difference(desk, found) if found.is_newest else []
    if different:
        raise Refused(
            "not-the-revision",
            f"the files here are not those of {found.label}: {', '.join(different)}",
            where=different[0],
            fix=f"check them in first: {check_in}",
        )


def _paths_now(desk: Desk, found: Target) -> set[str]:
    """The operation's files as the working folder has them: a new one may answer to a call there."""
    tree = desk.repo.work_tree()
    try:
        job_path, job, operation = locate(tree, Named(job=found.job, operation=found.operation))
        return set(operation_text(tree, job_path, job, operation, found.shop).paths)
    except BadCall:
        return set()  # job.toml or the main program is not as recorded, and is among the paths anyway


def _committed_difference(desk: Desk, found: Target) -> list[str]:
    """Paths of the last commit that are not as the record says; job.toml stands for its sheet."""
    tree = desk.repo.tree()
    try:
        job_path, job, operation = locate(tree, Named(job=found.job, operation=found.operation))
        text = operation_text(tree, job_path, job, operation, found.shop)
    except BadCall as fault:
        if fault.name in _UNREADABLE:
            raise
        return [fault.where or job_path_of(found.stored)]
    recorded_files = {(file.path, file.raw_sha256) for file in found.record.files}
    here = {(file.path, file.raw_sha256) for file in text.files}
    different = {path for path, _ in recorded_files ^ here}
    if text.sheet_fingerprint != found.record.sheet_fingerprint:
        different.add(job_path)
    return sorted(different)
