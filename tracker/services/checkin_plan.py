"""What a check-in takes along, and which operations get a revision by it.

The rule: after the commit every operation that has revisions and was touched by a committed file has one that is
exactly the text of that commit. So the text is computed from the commit as it will be (an `Overlay`), a changed
program of ``common/`` or a changed job.toml reaches every operation that uses it, and files no chosen operation uses
stay out, whatever their state in the working folder.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from tracker.errors import BadCall, Refused
from tracker.policy.find import newest, revisions
from tracker.records.events import RevisionRecord
from tracker.records.job import Job, Operation
from tracker.records.places import is_job_file
from tracker.records.shop import Shop
from tracker.records.stored import Ledger, Stored
from tracker.services.call_lookup import COMMON, ProgramIndex, numbers_of
from tracker.services.operation_text import OperationText, operation_text
from tracker.services.overlay import Overlay
from tracker.services.paths import folder_of, inside
from tracker.services.ports import Repository, Tree
from tracker.services.program_facts import FactsKept
from tracker.services.revision_text import job_path_of, revision_record
from tracker.services.shelves import Shelves


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """An operation to check in, as found in the state to be checked in."""

    job_path: str
    job: Job
    operation: Operation


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """An operation that gets a revision: its text, the revisions it came from, and why if nobody named it."""

    text: OperationText
    origins: tuple[Stored, ...]
    because: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What one commit holds: ``changed`` files from the working folder, ``removed`` ones, and the revisions.

    ``unchanged`` are the chosen operations that are equal to the last byte; ``problems`` what could not be read.
    """

    changed: tuple[str, ...]
    removed: tuple[str, ...]
    revisions: tuple[Planned, ...]
    unchanged: tuple[OperationText, ...]
    problems: tuple[str, ...] = ()


@dataclass(slots=True)
class Planner:
    """Holds the two states and the records while a plan is made."""

    repo: Repository
    shop: Shop
    ledger: Ledger
    base: Tree
    work: Tree
    problems: list[str] = field(default_factory=list)
    shelves: Shelves | None = None
    _facts: FactsKept = field(default_factory=dict)

    def newest(self, job: Job, operation: Operation) -> tuple[Stored, ...]:
        """The revisions of an operation that no other one came from."""
        self.shelves = self.shelves or Shelves(self.ledger)
        return newest(self.shelves.revisions_of(job.number, operation.id), job.number, operation.id)

    def known(self, job: str, operation: str) -> tuple[Stored, ...]:
        """Every revision of an operation, on any branch."""
        self.shelves = self.shelves or Shelves(self.ledger)
        return revisions(self.shelves.revisions_of(job, operation), job, operation, everywhere=True)

    def plan(self, chosen: Sequence[Chosen]) -> Plan:
        """The plan for ``chosen``; raises BadCall or Refused when one of them cannot be checked in."""
        taken = self._taken(chosen)
        changed = {path for path in taken if self.work.read(path) != self.base.read(path)}
        after = Overlay(self.base, self.work, frozenset(changed))
        index = ProgramIndex(after, self._facts)
        revisions: list[Planned] = []
        unchanged: list[OperationText] = []
        for one in chosen:
            text = operation_text(after, one.job_path, one.job, one.operation, self.shop, index=index)
            origins = self.newest(one.job, one.operation)
            if self.differs(text, origins):
                revisions.append(Planned(text=text, origins=origins))
            else:
                unchanged.append(text)
        named = {(one.job_path, one.operation.id.lower()) for one in chosen}
        revisions += self._reached(index, after, changed, named)
        return Plan(
            changed=tuple(sorted(path for path in changed if self.work.read(path) is not None)),
            removed=tuple(sorted(path for path in changed if self.work.read(path) is None)),
            revisions=tuple(revisions),
            unchanged=tuple(unchanged),
            problems=tuple(self.problems),
        )

    def differs(self, text: OperationText, origins: Sequence[Stored]) -> bool:
        """Whether a text calls for a new revision: bytes, the operation's table or the job's, or two origins."""
        if len(origins) != 1:
            return True
        record = revision_record(origins[0])
        if {(f.path, f.raw_sha256) for f in record.files} != {(f.path, f.raw_sha256) for f in text.files}:
            return True
        try:
            old = self.repo.tree(origins[0].commit).job(job_path_of(origins[0]))
        except BadCall:
            return True
        return _tables(old, text.operation.id) != _tables(text.job, text.operation.id)

    def _taken(self, chosen: Sequence[Chosen]) -> set[str]:
        """The chosen operations' own files, those that are gone included."""
        index = ProgramIndex(self.work, self._facts)
        taken: set[str] = set()
        for one in chosen:
            text = operation_text(self.work, one.job_path, one.job, one.operation, self.shop, index=index)
            taken |= set(text.paths)
            taken |= {path for path in self._before(one) if self.work.read(path) is None}
        for _ in range(10):  # a file that only the committed state has may answer to a call there
            after = Overlay(self.base, self.work, frozenset(taken))
            index = ProgramIndex(after, self._facts)
            more: set[str] = set()
            for one in chosen:
                text = operation_text(after, one.job_path, one.job, one.operation, self.shop, index=index)
                more |= set(text.paths) - taken
            if not more:
                break
            taken |= more
        return taken

    def _before(self, one: Chosen) -> Iterable[str]:
        """Paths of the operation's programs at the last check-ins."""
        for stored in self.newest(one.job, one.operation):
            yield from (file.path for file in revision_record(stored).files)

    def _reached(
        self, index: ProgramIndex, after: Overlay, changed: set[str], named: set[tuple[str, str]]
    ) -> list[Planned]:
        """Operations nobody named that the committed files touch too."""
        moved = {path for path in changed if self._answers_otherwise(path)}
        found: list[Planned] = []
        for job_path in self._near(after, changed, moved):
            job = self._job(after, job_path)
            for operation in job.operations if job else ():
                if (job_path, operation.id.lower()) in named or job is None:
                    continue
                origins = self.newest(job, operation)
                touching = self._touching(job_path, origins, changed, moved)
                if not origins or not touching:
                    continue
                text = self._text_of_reached(after, job_path, job, operation, index)
                if self.differs(text, origins):
                    found.append(Planned(text=text, origins=origins, because=touching[0]))
        return found

    def _answers_otherwise(self, path: str) -> bool:
        """Whether a file came, went, or answers to other numbers than before."""
        was, now = self.base.read(path), self.work.read(path)
        if was is None or now is None:
            return True
        return not is_job_file(path) and set(numbers_of(path, was)) != set(numbers_of(path, now))

    def _near(self, after: Overlay, changed: set[str], moved: set[str]) -> list[str]:
        """The job files to look into: all when something in common/ moved, else those the records point at."""
        every = sorted(set(after.job_paths().values())) if changed else []
        if any(inside(path, COMMON) for path in moved):
            return every
        places = {folder_of(path) for path in moved}
        held = {
            job_path_of(stored)
            for stored in self.ledger.records
            if isinstance(stored.record, RevisionRecord)
            and any(f.path in changed or folder_of(f.path) in places for f in stored.record.files)
        }
        around = {above for one in changed for above in _above(one)}
        return [path for path in every if path in held or folder_of(path) in around]

    def _touching(
        self, job_path: str, origins: Sequence[Stored], changed: set[str], moved: set[str]
    ) -> list[str]:
        """The changed files that are, or by their place may be, part of an operation."""
        own = {job_path} | {file.path for stored in origins for file in revision_record(stored).files}
        folders = {folder_of(path) for path in own}
        return sorted(
            path
            for path in changed
            if path in own
            or (
                path in moved
                and not is_job_file(path)
                and (inside(path, COMMON) or inside(path, folder_of(job_path)) or folder_of(path) in folders)
            )
        )

    def _text_of_reached(
        self, after: Overlay, job_path: str, job: Job, operation: Operation, index: ProgramIndex
    ) -> OperationText:
        try:
            return operation_text(after, job_path, job, operation, self.shop, index=index)
        except BadCall as fault:
            other = f"{job.number}/{operation.id}"
            raise Refused(
                "half-changed",
                f"{other} uses the same files, and would be left without its program",
                where=fault.where,
                fix=f"name {other} in this check-in too, or put right what is said here",
                reasons=(fault.what,),
            ) from fault

    def _job(self, tree: Tree, path: str) -> Job | None:
        try:
            return tree.job(path)
        except BadCall as fault:
            self.problems.append(f"{fault.where or path}: {fault.what}")
            return None


def _above(path: str) -> Iterable[str]:
    """Every folder a path lies in or below."""
    folder = folder_of(path)
    while folder:
        yield folder
        folder = folder_of(folder)


def _tables(job: Job, operation_id: str) -> tuple[object, ...]:
    """The [job] table and the operation's, as written and with what it takes over filled in."""
    written = next((op for op in job.operations if op.id.lower() == operation_id.lower()), None)
    return replace(job, operations=()), written, job.operation(operation_id)
