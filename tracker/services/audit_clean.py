"""Names for all that what an audit finds of one job's texts hangs on, so that a job without a finding is noted by them.

A job's text is looked up below its own folder and in ``common``, its programs may lie anywhere else outside the jobs'
folders; a job that names a program below another job's is never noted. Besides there are shop.toml and the revisions. What
each file holds is told by its id, what a state holds by the commit's.
"""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet

from tracker.digest import sha256_of
from tracker.errors import BadCall
from tracker.records.events import RevisionRecord
from tracker.records.job import Job
from tracker.records.places import is_below_records
from tracker.records.stored import Ledger, Stored
from tracker.services.paths import folder_of, inside, program_path

_JOBS = "jobs/"
_NUMBER = "number-"


class CleanNames:
    """The names of one audit's jobs."""

    def __init__(self, ledger: Ledger, files: Mapping[str, str]) -> None:
        """Args: files: every file of the state in hand, links too -> what it holds, in a word."""
        self._revisions: dict[str, list[Stored]] = {}
        for stored in ledger.records:
            if isinstance(stored.record, RevisionRecord):
                self._revisions.setdefault((stored.record.job or "").casefold(), []).append(stored)
        self._files: dict[str, list[str]] = {}
        for path, holds in sorted(files.items()):
            if not is_below_records(path):  # a record is no program, and answers to no call
                self._files.setdefault(_folder(path), []).append(f"{holds} {path}")
        self._holds = files
        self._numbers: dict[str, str] = {}
        self._base = _digest(self._files.get("", ()))

    def known(self, job_path: str, before: AbstractSet[str]) -> frozenset[str]:
        """The names of a job whose texts in hand were found without a fault before; none for one to be looked at."""
        number = self.number(job_path, before)
        name = None if number is None else self.in_hand(job_path, number)
        if number is None or name is None or name not in before:
            return frozenset()
        return frozenset((name, self.noted(job_path, number)))

    def number(self, job_path: str, before: AbstractSet[str]) -> str | None:
        """The number of a job that says it as it did before, and whose programs lie where they may; else None."""
        if not self._numbers:
            rows = (one.removeprefix(_NUMBER).partition(" is ") for one in before if one.startswith(_NUMBER))
            self._numbers = {said: number for said, _, number in rows}
        return self._numbers.get(self._said(job_path))

    def noted(self, job_path: str, number: str) -> str:
        """What to note so that `number` knows it the next time."""
        return f"{_NUMBER}{self._said(job_path)} is {number}"

    def _said(self, job_path: str) -> str:
        return _digest([job_path, self._holds.get(job_path, "")])

    def in_hand(self, job_path: str, number: str) -> str:
        """The name for what is in hand of a job, held against its newest revisions."""
        files = self._files.get(folder_of(job_path), ())
        return f"texts-{_digest([self._base, job_path, *files, *self._rows(number)])}"

    @staticmethod
    def apart(job_path: str, job: Job) -> bool:
        """Whether a job names no program that lies below another job's folder: else it is always looked at."""
        folder = folder_of(job_path)
        try:
            programs = [program_path(job_path, operation.program) for operation in job.operations]
        except BadCall:
            return False
        return not any(
            is_below_records(one) or (one.startswith(_JOBS) and not inside(one, folder)) for one in programs
        )

    def recorded(self, number: str) -> str:
        """The name for the texts of a job's revisions, as the states hold them that they were made in."""
        return f"recorded-{_digest(self._rows(number))}"

    def _rows(self, number: str) -> list[str]:
        held = self._revisions.get(number.casefold(), ())
        return [f"{one.commit} {one.sha256} {int(one.in_hand)} {one.path}" for one in held]


def _folder(path: str) -> str:
    """``jobs/4471`` for what lies below it, empty for all else."""
    parts = path.split("/", 2)
    return "/".join(parts[:2]) if len(parts) == 3 and parts[0] == "jobs" else ""


def _digest(rows: Sequence[str]) -> str:
    return sha256_of("\n".join(rows).encode("utf-8", "surrogateescape"))
