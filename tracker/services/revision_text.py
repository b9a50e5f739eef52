"""The text a revision record stands for, read back from the commit that brought the record in.

Every program is held against the SHA-256 in the record; one that does not agree is not used.
"""

import hashlib
from collections import Counter

from tracker.errors import BadCall, CouldNot
from tracker.frozen import dataclass
from tracker.policy.find import label, number_of, short_name
from tracker.records.events import Before, RevisionRecord
from tracker.records.job import Job, Operation
from tracker.records.stored import Ledger, Stored
from tracker.services.ports import Recorded, Tree
from tracker.services.program_text import ProgramText


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionText:
    """What a revision holds, as far as it can be read back.

    ``lost``: paths whose bytes are not there any more or do not agree with the record. ``job`` and ``operation``
    are None when the job.toml of that commit cannot be read.
    """

    stored: Stored
    record: RevisionRecord
    job_path: str
    programs: tuple[ProgramText, ...]
    job: Job | None = None
    operation: Operation | None = None
    lost: tuple[str, ...] = ()

    @property
    def sheet(self) -> tuple[Job, Operation] | None:
        """The job and the operation, or None where job.toml cannot be read back."""
        return (self.job, self.operation) if self.job and self.operation else None


def revision_record(stored: Stored) -> RevisionRecord:
    """The record as what it is; raises CouldNot (``damaged``) where a revision was expected and is none."""
    if not isinstance(stored.record, RevisionRecord):
        raise CouldNot(
            "damaged",
            "this record is none of a revision",
            where=stored.path,
            fix="run proveout audit: it lists everything that is damaged",
        )
    return stored.record


def job_path_of(stored: Stored) -> str:
    """The job.toml a record of a job belongs to, by the place the record lies in."""
    return stored.path.split("/records/", 1)[0] + "/job.toml"


def revision_text(repo: Recorded, stored: Stored) -> RevisionText:
    """The programs and the sheet of a revision."""
    record = revision_record(stored)
    tree = repo.tree(stored.text_commit)
    programs: list[ProgramText] = []
    lost: list[str] = []
    for file in record.files:
        data = tree.read(file.path)
        if data is None or hashlib.sha256(data).hexdigest() != file.raw_sha256:
            lost.append(file.path)
        else:
            programs.append(ProgramText(path=file.path, name=file.name, number=file.number, data=data))
    job_path = job_path_of(stored)
    job = bare_job(record) if record.before is not None else _job(tree, job_path)
    return RevisionText(
        stored=stored,
        record=record,
        job_path=job_path,
        programs=tuple(programs),
        job=job,
        operation=job.operation(record.operation or "") if job else None,
        lost=tuple(lost),
    )


def bare_job(record: RevisionRecord) -> Job:
    """A job whose sheet states nothing: all that is known of the setup of a text of before the record."""
    program = record.files[0].path if record.files else ""
    operation = Operation(id=record.operation or "", program=program)
    return Job(number=record.job or "", operations=(operation,))


def before_words(before: Before) -> str:
    """What every view says of a text of before the record."""
    return f"before the record, as claimed by {before.author} (commit {before.commit[:12]})"


class ShownNames:
    """How the revisions of a ledger are written: ``r5``, or ``r5-7f3a09c2`` where another one has the same number."""

    __slots__ = ("_of_number",)

    def __init__(self, ledger: Ledger) -> None:
        self._of_number = Counter(
            _number(stored.record.job, stored.record.operation, stored.name)
            for stored in ledger.records
            if isinstance(stored.record, RevisionRecord)
        )

    def __call__(self, job: str | None, operation: str | None, name: str) -> str:
        """Of the revision of an operation with this full name."""
        return short_name(name) if self._of_number[_number(job, operation, name)] > 1 else label(name)

    def of(self, stored: Stored) -> str | None:
        """Of the revision a record speaks of, or is; None where it speaks of none."""
        record = stored.record
        name = stored.name if isinstance(record, RevisionRecord) else record.revision
        return self(record.job, record.operation, name) if name else None


def shown_name(stored: Stored, ledger: Ledger) -> str:
    """``r5``, or ``r5-7f3a09c2`` where another revision of the operation has the same number."""
    return ShownNames(ledger)(stored.record.job, stored.record.operation, stored.name)


def _number(job: str | None, operation: str | None, name: str) -> tuple[str, str, int]:
    return (job or "").casefold(), (operation or "").casefold(), number_of(name)


def _job(tree: Tree, path: str) -> Job | None:
    if tree.read(path) is None:
        return None
    try:
        return tree.job(path)
    except BadCall:
        return None
