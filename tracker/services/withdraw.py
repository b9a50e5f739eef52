"""``withdraw``: the recall of a release, of all it holds or of the operations named.

It covers the code: every revision with one of the fingerprints is withdrawn, whatever release it is in. An older release
does not come back by it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from tracker.errors import BadCall, Refused
from tracker.policy.book import Book, book_of
from tracker.policy.find import label
from tracker.policy.may import require
from tracker.policy.stops import lift_of
from tracker.records.events import ReleasedOperation, ReleaseRecord, WithdrawRecord
from tracker.records.problems import nearest_fix
from tracker.records.stored import Stored
from tracker.services.carriers import Carrier, carriers
from tracker.services.desk import Desk, acting, opening
from tracker.services.paths import folder_of
from tracker.services.recording import attached_head, put_down, reason_text
from tracker.services.release_named import ReleaseNamed, release_records
from tracker.services.revision_text import job_path_of


@dataclass(frozen=True, slots=True, kw_only=True)
class WithdrawReport:
    """What was recalled, and the sticks exports of it were written to."""

    job: str
    number: int
    record: WithdrawRecord
    path: str
    commit: str
    carriers: tuple[Carrier, ...] = ()

    @property
    def sticks(self) -> tuple[str, ...]:
        """What lies on sticks by the records, a line a stick: these are to be called in."""
        return tuple(f"{one.spelled}: {', '.join(one.files)}" for one in self.carriers if one.files)

    @property
    def were_on(self) -> tuple[str, ...]:
        """What lay on sticks and does not any more: the control may hold it all the same."""
        return tuple(f"{one.spelled}: {', '.join(one.gone)}" for one in self.carriers if one.gone)

    @property
    def machines(self) -> tuple[str, ...]:
        """Machines whose control may hold it: every one it went to."""
        return tuple(dict.fromkeys(one.machine for one in self.carriers if one.machine))


def withdraw(
    desk: Desk,
    named: ReleaseNamed,
    *,
    by: str | None,
    reason: str | None,
    operations: Sequence[str] = (),
    at: datetime | None = None,
) -> WithdrawReport:
    """Recall a release.

    Raises:
        BadCall: ``unknown-release``, ``not-in-release``, ``no-reason``, unknown people.
        Refused: ``already-withdrawn``, ``wrong-role``, ``detached-head``, ``moved``.
    """
    head = attached_head(desk)
    ledger = desk.repo.ledger()
    person = acting(desk, ledger.shop, by)
    require(ledger.shop, person, "withdraw", desk.clock.now())
    found = release_records(ledger, named)
    job = found[0].record.job or named.job
    covered = _covered(found, operations, job, named.number)
    covered = _not_yet(book_of(ledger, job, desk.clock.now()), covered, job, named.number)
    record = WithdrawRecord(
        job=job,
        number=named.number,
        reason=reason_text(reason, "why is it recalled?"),
        operations=covered,
        **opening(desk, person, at=at),
    )
    message = (
        f"{job} release {named.number} withdrawn by {person.initials} ({_texts(covered)}): {record.reason}"
    )
    folder = folder_of(job_path_of(found[0]))
    done = put_down(desk, ledger, head, folder, (record,), author=person, message=message)
    return WithdrawReport(
        job=job,
        number=named.number,
        record=record,
        path=done.paths[0],
        commit=done.commit,
        carriers=carriers(ledger, job, {one.operation_fingerprint for one in covered}, desk.clock.now()),
    )


def to_be_recalled(desk: Desk, named: ReleaseNamed, operations: Sequence[str] = ()) -> str:
    """``op10 r5, op20 r1``: what `withdraw` would recall, to be looked at before; raises what it raises for names."""
    ledger = desk.repo.ledger()
    found = release_records(ledger, named)
    job = found[0].record.job or named.job
    covered = _covered(found, operations, job, named.number)
    return _texts(_not_yet(book_of(ledger, job, desk.clock.now()), covered, job, named.number))


def _texts(covered: Sequence[ReleasedOperation]) -> str:
    return ", ".join(f"{one.operation} {label(one.revision)}" for one in covered)


def _covered(
    found: Sequence[Stored], operations: Sequence[str], job: str, number: int
) -> tuple[ReleasedOperation, ...]:
    """The operations to recall, each text once; without what let it stand."""
    held: dict[tuple[str, str], ReleasedOperation] = {}
    for stored in found:
        for one in stored.record.operations if isinstance(stored.record, ReleaseRecord) else ():
            held[one.operation.casefold(), one.operation_fingerprint] = ReleasedOperation(
                operation=one.operation,
                revision=one.revision,
                operation_fingerprint=one.operation_fingerprint,
                machines=one.machines,
            )
    known = {operation for operation, _ in held}
    for name in operations:
        if name.casefold() not in known:
            fix = nearest_fix(name, sorted(known), "operations")
            raise BadCall("not-in-release", f"release {number} of {job} holds no operation {name!r}", fix=fix)
    wanted = {name.casefold() for name in operations} or known
    return tuple(one for (operation, _), one in held.items() if operation in wanted)


def _not_yet(
    book: Book, covered: tuple[ReleasedOperation, ...], job: str, number: int
) -> tuple[ReleasedOperation, ...]:
    """Those of them that no withdrawal in force covers; raises Refused (``already-withdrawn``)."""
    gone = {
        one.operation_fingerprint
        for entry in book.withdrawals
        if lift_of(book, entry.stored) is None
        for one in entry.record.operations
    }
    left = tuple(one for one in covered if one.operation_fingerprint not in gone)
    if not left:
        raise Refused(
            "already-withdrawn",
            f"{_texts(covered)} of release {number} of {job} is withdrawn already",
            fix=f"proveout history {job} shows by whom and why",
        )
    return left
