"""The rows of the board: how every operation stands on every machine, worked out from all that is recorded."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from tracker.errors import BadCall
from tracker.policy.find import newest, same_name
from tracker.policy.states import UNPROVEN, Standing
from tracker.records.job import Job, Operation
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk
from tracker.services.locate import find_job
from tracker.services.revision_text import revision_record, shown_name
from tracker.services.shelves import Shelves
from tracker.services.signed_views import SignedViews
from tracker.services.standings import not_listed
from tracker.services.usable import Board

NOT_IN_SHEET = "unproven: job.toml names no machine for it"
NOT_CHECKED_IN = "unproven: not checked in yet"


@dataclass(frozen=True, slots=True, kw_only=True)
class StatusRow:
    """An operation on a machine.

    ``revision`` as shown (``r5``), None before the first check-in; ``released`` the latest release if it holds this
    very revision; ``next`` what comes next, in words; ``standing`` with all its parts, None where there is nothing
    to judge; ``signed`` what is said of the revision's signature.
    """

    job: str
    operation: str
    revision: str | None
    machine: str | None
    state: str
    reason: str
    released: int | None = None
    may_run: bool = False
    next: str = ""
    display_id: str | None = None
    standing: Standing | None = None
    signed: str | None = None


@dataclass(slots=True, kw_only=True)
class Look:
    """What one look at the shop needs."""

    desk: Desk
    ledger: Ledger
    board: Board
    shelves: Shelves
    seals: SignedViews
    problems: list[str] = field(default_factory=list)

    @classmethod
    def at(cls, desk: Desk) -> "Look":
        """A look at everything that is recorded."""
        ledger = desk.repo.ledger()
        return cls(
            desk=desk,
            ledger=ledger,
            board=Board(desk, ledger),
            shelves=Shelves(ledger),
            seals=SignedViews(desk, ledger),
        )

    def jobs(self, name: str | None) -> list[tuple[str, Job]]:
        """(path of job.toml, job) of the last commit, sorted by number; broken ones go to the problems."""
        tree = self.desk.repo.tree()
        if name is not None:
            path = find_job(tree, name)
            return [(path, tree.job(path))]
        found = []
        for path in sorted(set(tree.job_paths().values())):
            try:
                found.append((path, tree.job(path)))
            except BadCall as fault:
                self.problems.append(f"{fault.where or path}: {fault.what}")
        return sorted(found, key=lambda one: one[1].number.casefold())

    def rows(self, jobs: Iterable[tuple[str, Job]]) -> Iterator[StatusRow]:
        """Every operation on every machine of its sheet."""
        for _, job in jobs:
            for operation in job.operations:
                heads = self._newest(job, operation)
                for stored in heads:
                    yield from self._of_revision(job, operation, stored, clash=len(heads) > 1)
                if not heads:
                    for name in operation.machines or (None,):
                        yield self._unrecorded(job, operation, name)

    def runnable(
        self, jobs: Iterable[tuple[str, Job]], wanted: str | None, left_out: list[str]
    ) -> Iterator[StatusRow]:
        """Released revisions on the machines where they may run; why others may not goes to ``left_out``."""
        numbers = {job.number.casefold() for _, job in jobs}
        for machine in self.ledger.shop.machines:
            if wanted is not None and not same_name(machine.id, wanted):
                continue
            usable, others = self.board.on_machine(machine)
            left_out += [f"{machine.id}: {one.spelled}" for one in others if one.job.casefold() in numbers]
            for one in usable:
                released = one.released
                if released.job.casefold() in numbers:
                    yield StatusRow(
                        job=released.job,
                        operation=released.operation.id,
                        revision=self._shown(released.stored),
                        machine=machine.id,
                        state=one.standing.state,
                        reason=one.standing.reason,
                        released=released.release,
                        may_run=True,
                        next="may run",
                        display_id=released.record.operation_fingerprint[:8].upper(),
                        standing=one.standing,
                        signed=self.seals.words(released.stored),
                    )

    def edited(self, jobs: Iterable[tuple[str, Job]]) -> tuple[str, ...]:
        """Own files of the operations that the working folder holds otherwise than the last commit does."""
        return tuple(self.desk.repo.uncommitted(self.own_files(jobs)))

    def own_files(self, jobs: Iterable[tuple[str, Job]]) -> tuple[str, ...]:
        """Each job.toml, and the programs of every operation's newest revisions; sorted."""
        paths: set[str] = set()
        for path, job in jobs:
            paths.add(path)
            for operation in job.operations:
                for stored in self._newest(job, operation):
                    paths |= {file.path for file in revision_record(stored).files}
        return tuple(sorted(paths))

    def _of_revision(
        self, job: Job, operation: Operation, stored: Stored, *, clash: bool
    ) -> Iterator[StatusRow]:
        fingerprint, signed = revision_record(stored).operation_fingerprint, self.seals.words(stored)
        released = self.board.released(job.number, operation.id)
        number = released.release if released and released.stored.path == stored.path else None
        for name in operation.machines or (None,):
            found = self._stands(stored, name)
            yield StatusRow(
                job=job.number,
                operation=operation.id,
                revision=self._shown(stored),
                machine=name,
                state=found.state,
                reason=found.reason,
                released=number,
                may_run=found.usable and number is not None,
                next=_next(job, operation, name, found, number, clash=clash),
                display_id=fingerprint[:8].upper(),
                standing=found,
                signed=signed,
            )

    def _stands(self, stored: Stored, name: str | None) -> Standing:
        if name is None:
            return Standing(state=UNPROVEN, reason=NOT_IN_SHEET)
        machine = self.ledger.shop.machine(name)
        found = self.board.standing(stored, machine) if machine is not None else None
        return found if found is not None else not_listed(name)

    def _newest(self, job: Job, operation: Operation) -> tuple[Stored, ...]:
        own = self.shelves.revisions_of(job.number, operation.id)
        return newest(own, job.number, operation.id)

    def _shown(self, stored: Stored) -> str:
        record = stored.record
        return shown_name(stored, self.shelves.revisions_of(record.job or "", record.operation or ""))

    def _unrecorded(self, job: Job, operation: Operation, name: str | None) -> StatusRow:
        return StatusRow(
            job=job.number,
            operation=operation.id,
            revision=None,
            machine=name,
            state=UNPROVEN,
            reason=NOT_CHECKED_IN,
            next=f'proveout checkin {job.number}/{operation.id} -m "why"',
        )


def _next(
    job: Job, operation: Operation, machine: str | None, found: Standing, released: int | None, *, clash: bool
) -> str:
    """What comes next, in words: a command where one would do it."""
    spelled = job.number if len(job.operations) == 1 else f"{job.number}/{operation.id}"
    if clash:
        return f"bring the two check-ins together: proveout checkin {spelled}"
    if machine is None:
        return "name its machines in job.toml"
    if not found.usable:
        return found.clears[0] if found.clears else f"proveout prove {spelled} --machine {machine}"
    return "may run" if released is not None else f"proveout release {job.number}"
