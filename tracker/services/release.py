"""``release``: the record of a release, the commit that holds it, and the tag on that commit.

It refuses with every reason and what would clear it, unless each operation of the job (of alternatives, one) stands as
the last commit holds it. What was written is derived again in the way of the gate before the tag is made. A record that
was left without its tag (a killed call, a closed gate) is taken up again.

The checks of ``verify`` are run again for every operation and machine, with the rules of today: what the records say of
findings counts as well, and of waivers only what they say.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tracker.errors import BadCall, CouldNot, Refused
from tracker.policy.find import label
from tracker.policy.gate import ReleaseName, no_release, number_reasons, release_name
from tracker.policy.may import require
from tracker.policy.release_rules import Decision, OperationStands, Reason, decide
from tracker.policy.release_tag import who_can_tag
from tracker.policy.spelled import counted
from tracker.policy.standing import Judge
from tracker.policy.states import Standing
from tracker.policy.unsigned import signing_shop
from tracker.records.events import Reference, ReleasedOperation, ReleaseRecord, RevisionRecord
from tracker.records.names import release_file
from tracker.records.shop import Person
from tracker.records.stored import Ledger, Stored
from tracker.services.chain_check import chain_reasons
from tracker.services.desk import Desk, acting, opening
from tracker.services.judged_again import judged_again
from tracker.services.locate import find_job
from tracker.services.naming import Named
from tracker.services.ports import Head, NewFile, TagSeen
from tracker.services.ports_share import SharedRepository
from tracker.services.recording import attached_head, one_line
from tracker.services.rederive import Derived, rederive, tag_for
from tracker.services.release_facts import JobFacts, job_facts
from tracker.services.release_outlet import Outlet, outlet
from tracker.services.release_told import not_included, same_as

ONLY_HERE = "commit and tag are on this disk only"


@dataclass(frozen=True, slots=True, kw_only=True)
class InPlan:
    """An operation of the release: its revision and how it stands on each of its machines."""

    operation: str
    revision: str
    standings: tuple[tuple[str, Standing], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseReport:
    """What was released, or (``dry_run``) would be; ``commit`` None then.

    ``not_included``: operation and why, in words; ``taken_up``: the record was there and only its tag was made.
    """

    job: str
    number: int
    path: str
    by: str
    record: ReleaseRecord
    operations: tuple[InPlan, ...]
    not_included: tuple[tuple[str, str], ...]
    commit: str | None = None
    dry_run: bool = False
    taken_up: bool = False
    notes: tuple[str, ...] = ()

    @property
    def tag(self) -> str:
        """``release/4471/2``."""
        return ReleaseName(job=self.job, number=self.number).tag


def release(
    desk: Desk,
    named: Named,
    *,
    by: str | None,
    reason: str | None = None,
    dry_run: bool = False,
    shared: SharedRepository | None = None,
) -> ReleaseReport:
    """Release a job; ``shared``: where commit and tag go out in one push, if this clone knows such a place.

    Raises:
        BadCall: ``unknown-job``, ``whole-job`` (an operation was named), unknown people.
        Refused: ``not-released`` with every reason, ``waits-for-its-tag``, ``wrong-role``, ``detached-head``, ``moved``, ``gate-closed``.
        CouldNot: the clone cannot tell.
    """
    if named.operation is not None or named.revision is not None:
        raise BadCall(
            "whole-job",
            "a release is of a whole job, as it was checked in last",
            fix=f"proveout release {named.job}",
        )
    attached_head(desk)
    shop = desk.repo.ledger().shop
    require(shop, acting(desk, shop, by), "release", desk.clock.now())
    tree = desk.repo.tree()
    job_facts(tree, find_job(tree, named.job), shop)
    with outlet(desk, None if dry_run else shared) as out:
        maker = _maker(desk, named, by, out)
        maker.must_be_clear()
        left = maker.left_without_tag()
        if left is not None:
            return maker.take_up(left, dry_run=dry_run)
        return maker.make(one_line(reason), dry_run=dry_run)


def _maker(desk: Desk, named: Named, by: str | None, out: Outlet | None) -> "_Maker":
    """What was read once nothing moves any more."""
    ledger = desk.repo.ledger()
    tree = desk.repo.tree()
    return _Maker(
        desk=desk,
        ledger=ledger,
        head=attached_head(desk),
        person=acting(desk, ledger.shop, by),
        facts=job_facts(tree, find_job(tree, named.job), ledger.shop),
        out=out,
    )


@dataclass(slots=True, kw_only=True)
class _Maker:
    """One call of ``release``: what was read, and who asks."""

    desk: Desk
    ledger: Ledger
    head: Head
    person: Person
    facts: JobFacts
    out: Outlet | None = None

    @property
    def _where(self) -> tuple[str, ...]:
        return (self.out.words if self.out else ONLY_HERE,)

    @property
    def job(self) -> str:
        """The job's number."""
        return self.facts.job.number

    def must_be_clear(self) -> None:
        """Raise Refused (``not-released``) while something stands in a release's place that can be none."""
        found = [reason for tag in self._tags() if (reason := no_release(tag)) is not None]
        if found:
            raise refused(self.job, found)

    def left_without_tag(self) -> Derived | None:
        """The oldest release record in hand without its tag that can be derived again and whose tag somebody can make.

        Raises Refused (``waits-for-its-tag``) where that is somebody else.
        """
        tagged = {name.number for name in self._tagged()}
        records = [stored for stored in self._records() if stored.in_hand and _number(stored) not in tagged]
        for stored in sorted(records, key=_number):
            derived = rederive(self.desk.repo, self._tag(stored))
            if derived.holds and self._may_take_up(derived):
                return derived
        return None

    def _may_take_up(self, left: Derived) -> bool:
        """Whether this person may make the tag; False where nobody can any more."""
        if left.ledger is None or left.stored is None or left.record is None:
            return True
        before, _ = signing_shop(left.ledger, left.stored)
        can = who_can_tag(left.record, before, self.ledger.shop, self.desk.clock.now())
        if can is None or self.person.initials in can:
            return True
        if can:
            raise Refused(
                "waits-for-its-tag",
                f"release {left.record.number} of {self.job} has its record and not its tag, and a key of "
                f"{self.person.initials} would not make it good",
                where=left.stored.path,
                fix=f"{' or '.join(can)} makes it: proveout release {self.job} --by {can[0]}",
            )
        return False

    def take_up(self, left: Derived, *, dry_run: bool) -> ReleaseReport:
        """Make the tag that is missing."""
        record, stored = left.record, left.stored
        if record is None or stored is None or left.decision is None:
            raise TypeError("a release that holds has a record and a decision")
        if not dry_run:
            self._make_tag(stored)
        return self._report(
            record, stored.path, left.decision, commit=stored.commit, dry_run=dry_run, taken_up=True
        )

    def make(self, reason: str | None, *, dry_run: bool) -> ReleaseReport:
        """Decide, write the record, look at it in the way of the gate, make the tag."""
        decision = decide(
            self.ledger,
            Judge(self.ledger, self.desk.clock.now()),
            self.job,
            self.facts.folder,
            judged_again(self.facts, self.ledger),
        )
        number = max(self.desk.repo.release_numbers(self.job), default=0) + 1
        reasons = [*self._edits(), *decision.reasons, *self._chains(decision), *self._number(number)]
        if reasons:
            raise refused(self.job, reasons)
        record = self._record(decision, number, reason)
        path = release_file(self.facts.folder, number)
        if dry_run:
            return self._report(record, path, decision, commit=None, dry_run=True)
        commit = self._commit(record, path)
        stored = self._written(path, commit)
        derived = rederive(self.desk.repo, self._tag(stored))
        if not derived.holds:
            raise refused(self.job, derived.reasons)
        self._make_tag(stored)
        return self._report(record, path, decision, commit=commit, dry_run=False)

    def _edits(self) -> Iterator[Reason]:
        """The operations' own files must be as the last commit holds them."""
        paths = {self.facts.path, *(path for text in self.facts.texts.values() for path in text.paths)}
        for path in self.desk.repo.uncommitted(sorted(paths)):
            yield Reason(
                words=f"{path} was edited and is not checked in",
                clears=f'proveout checkin {self.job} -m "why", or put it back as it was',
            )

    def _chains(self, decision: Decision) -> Iterator[Reason]:
        """What stands must also bear a second look at its texts."""
        for one in decision.included:
            for _, found in one.usable:
                if one.revision is not None:
                    yield from chain_reasons(self.desk.repo, self.ledger, found.chain, one.revision)

    def _number(self, number: int) -> Iterator[Reason]:
        """The gate's rules of numbers, asked before anything is written."""
        name = ReleaseName(job=self.job, number=number)
        untagged = {_number(stored) for stored in self._records() if stored.in_hand}
        yield from number_reasons([name], self._tagged(), {self.job.casefold(): untagged})[name]

    def _record(self, decision: Decision, number: int, reason: str | None) -> ReleaseRecord:
        return ReleaseRecord(
            job=self.job,
            reason=reason,
            number=number,
            operations=tuple(self._released(one) for one in decision.included),
            not_included=tuple(
                {"operation": operation, "reason": why} for operation, why in not_included(decision)
            ),
            **opening(self.desk, self.person),
        )

    def _released(self, one: OperationStands) -> ReleasedOperation:
        if one.revision is None or not isinstance(one.revision.record, RevisionRecord):
            raise TypeError("what stands has a revision")
        relied = {stored.path: stored for stored in self._relied_on(one)}
        return ReleasedOperation(
            operation=one.facts.operation,
            revision=one.revision.name,
            operation_fingerprint=one.revision.record.operation_fingerprint,
            machines=tuple(name for name, _ in one.usable),
            relied_on=tuple(
                Reference(path=stored.path, sha256=stored.sha256)
                for stored in sorted(relied.values(), key=_place)
            ),
        )

    def _relied_on(self, one: OperationStands) -> Iterator[Stored]:
        """The revisions of the chain, and what lets each step stand."""
        names = {name for _, found in one.usable for name in found.chain}
        for stored in self.ledger.records:
            same = (stored.record.job, stored.record.operation) == (self.job, one.facts.operation)
            if isinstance(stored.record, RevisionRecord) and same and stored.name in names and stored.in_hand:
                yield stored
        for _, found in one.usable:
            yield from (stored for stored in found.relied_on if stored.in_hand)

    def _commit(self, record: ReleaseRecord, path: str) -> str:
        held = ", ".join(f"{one.operation} {label(one.revision)}" for one in record.operations)
        file = NewFile(path=path, data=self.desk.repo.encode(record))
        message = f"{self.job} release {record.number}: {held}"
        at = self.desk.clock.now()
        if self.out is not None:
            return self.out.propose(file, message, self.person, at)
        return self.desk.repo.commit([file], message=message, author=self.person, at=at, expect=self.head)

    def _written(self, path: str, commit: str) -> Stored:
        ledger = self.desk.repo.ledger(commit)
        found = next((one for one in ledger.records if one.path == path and one.in_hand), None)
        if found is None:
            raise CouldNot(
                "damaged",
                "the record that was just written is not there",
                where=path,
                fix="run it again; proveout audit lists what is damaged",
            )
        return found

    def _tag(self, stored: Stored) -> TagSeen:
        if not isinstance(stored.record, ReleaseRecord):
            raise TypeError(f"{stored.path} is no record of a release")
        return tag_for(stored, stored.record)

    def _make_tag(self, stored: Stored) -> None:
        tag = self._tag(stored)
        if self.out is not None:
            self.out.send(stored.commit, tag, self.person, self.desk.clock.now())
            return
        self.desk.repo.tag(
            tag.header_name or "",
            commit=stored.commit,
            message=tag.message,
            tagger=self.person,
            at=self.desk.clock.now(),
        )

    def _records(self) -> list[Stored]:
        return [
            stored
            for stored in self.ledger.records
            if isinstance(stored.record, ReleaseRecord)
            and (stored.record.job or "").casefold() == self.job.casefold()
        ]

    def _tags(self) -> list[TagSeen]:
        """Every tag called like a release of the job."""
        names = [(tag, release_name(tag.ref)) for tag in self.desk.repo.release_tags()]
        return [tag for tag, name in names if name and name.job.casefold() == self.job.casefold()]

    def _tagged(self) -> list[ReleaseName]:
        return [name for tag in self._tags() if (name := release_name(tag.ref)) is not None]

    def _report(
        self,
        record: ReleaseRecord,
        path: str,
        decision: Decision,
        *,
        commit: str | None,
        dry_run: bool,
        taken_up: bool = False,
    ) -> ReleaseReport:
        return ReleaseReport(
            job=self.job,
            number=record.number,
            path=path,
            by=record.by,
            record=record,
            operations=_in_plan(record, decision),
            not_included=not_included(decision),
            commit=commit,
            dry_run=dry_run,
            taken_up=taken_up,
            notes=(*same_as(self.ledger, record), *(() if dry_run else self._where)),
        )


def refused(job: str, reasons: Sequence[Reason]) -> Refused:
    """The refusal of a release, every reason with what would clear it."""
    return Refused(
        "not-released",
        f"{job} is not released: {counted(len(reasons), 'reason')}",
        fix="clear every reason above, then run it again",
        reasons=tuple(str(reason) for reason in dict.fromkeys(reasons)),
    )


def _in_plan(record: ReleaseRecord, decision: Decision) -> tuple[InPlan, ...]:
    found: list[InPlan] = []
    for operation in record.operations:
        stands = decision.of(operation.operation)
        found.append(
            InPlan(
                operation=operation.operation,
                revision=operation.revision,
                standings=stands.standings if stands else (),
            )
        )
    return tuple(found)


def _number(stored: Stored) -> int:
    record = stored.record
    return record.number if isinstance(record, ReleaseRecord) else 0


def _place(stored: Stored) -> tuple[int, str]:
    return stored.order, stored.path
