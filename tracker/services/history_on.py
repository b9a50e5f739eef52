"""``history --on DAY``: what stood and what was released at the end of a day, by that day's records and policy.

The rows are of the newest revisions, and of the released one where a newer was checked in by then: that is the text machines
may have run. Nothing entered later counts, so the answer does not change when more is recorded; a record that says it
happened that day but was entered later is not in it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from tracker.errors import BadCall
from tracker.policy.days import end_of_day, zone_of
from tracker.policy.find import heads, revisions, same_name, struck
from tracker.policy.shops import shop_on
from tracker.policy.standing import Judge
from tracker.policy.states import Standing
from tracker.records.events import LiftRecord, ReleaseRecord, RevisionRecord, WithdrawRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.day_said import day_been
from tracker.services.desk import Desk
from tracker.services.naming import Named
from tracker.services.revision_text import revision_text, shown_name
from tracker.services.standings import not_listed


@dataclass(frozen=True, slots=True, kw_only=True)
class StoodOn:
    """An operation on a machine that day; ``machine`` and ``standing`` None where its sheet names no machine.

    ``released``: number of the latest release that holds this revision and was not withdrawn by then.
    """

    job: str
    operation: str
    revision: str
    machine: str | None
    standing: Standing | None
    released: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OnReport:
    """Every operation that had a revision by the end of the day."""

    day: date
    rows: tuple[StoodOn, ...]


def history_on(desk: Desk, named: Named | None, said: str) -> OnReport:
    """What stood on a day.

    Raises BadCall (``bad-date``, ``unknown-job``) and what reading the repository raises.
    """
    ledger = desk.repo.ledger()
    day = day_been(said, desk, ledger)
    end = end_of_day(day, zone_of(ledger.shop))
    gone = struck(ledger)
    known = [
        stored
        for stored in ledger.records
        if stored.record.entered <= end and stored.path not in gone and _counts(stored)
    ]
    operations = dict.fromkeys(
        (stored.record.job or "", stored.record.operation or "")
        for stored in known
        if isinstance(stored.record, RevisionRecord) and _meant(stored, named)
    )
    if named is not None and not any(same_name(stored.record.job, named.job) for stored in ledger.records):
        raise BadCall(
            "unknown-job",
            f"there is no job {named.job!r} in the record",
            fix="proveout status lists all jobs",
        )
    judge = Judge(ledger, end)
    rows = [
        row
        for job, operation in sorted(operations)
        for row in _rows(desk, ledger, judge, known, end, job, operation)
    ]
    return OnReport(day=day, rows=tuple(rows))


def _counts(stored: Stored) -> bool:
    """What permits counts from the tree in hand; a recall from every branch and tag."""
    return stored.in_hand or isinstance(stored.record, WithdrawRecord)


def _meant(stored: Stored, named: Named | None) -> bool:
    if named is None:
        return True
    return same_name(stored.record.job, named.job) and (
        named.operation is None or same_name(stored.record.operation, named.operation)
    )


def _rows(
    desk: Desk, ledger: Ledger, judge: Judge, known: list[Stored], end: datetime, job: str, operation: str
) -> Iterable[StoodOn]:
    then = {stored.path for stored in known}
    found = tuple(one for one in revisions(ledger, job, operation) if one.path in then)
    shop = shop_on(ledger, end)
    for stored in (*heads(found), *_released_before(known, heads(found), found, job, operation)):
        text = revision_text(desk.repo, stored)
        machines = text.operation.machines if text.operation else ()
        for name in machines or (None,):
            machine = shop.machine(name) if name else None
            standing = judge.standing(stored, machine) if machine else not_listed(name) if name else None
            yield StoodOn(
                job=job,
                operation=operation,
                revision=shown_name(stored, ledger),
                machine=name,
                standing=standing,
                released=_released(known, job, operation, stored.name),
            )


def _released_before(
    known: list[Stored], newest: Sequence[Stored], found: Sequence[Stored], job: str, operation: str
) -> Iterable[Stored]:
    """The revision the job's latest release holds, where it is none of the newest and was not withdrawn."""
    releases = [
        one.record
        for one in known
        if isinstance(one.record, ReleaseRecord) and same_name(one.record.job, job)
    ]
    latest = max(releases, key=lambda one: one.number, default=None)
    for held in latest.operations if latest else ():
        if same_name(held.operation, operation) and _released(known, job, operation, held.revision):
            yield from (one for one in found if one.name == held.revision and one not in newest)


def _released(known: list[Stored], job: str, operation: str, revision: str) -> int | None:
    """The latest release of these records that holds the revision; None where it was withdrawn and not lifted."""
    lifted = {one.record.withdrawal for one in known if isinstance(one.record, LiftRecord)}
    withdrawn = {
        (one.record.number, held.operation.lower())
        for one in known
        if isinstance(one.record, WithdrawRecord)
        and same_name(one.record.job, job)
        and one.path not in lifted
        for held in one.record.operations
    }
    numbers = [
        one.record.number
        for one in known
        if isinstance(one.record, ReleaseRecord) and same_name(one.record.job, job)
        for held in one.record.operations
        if same_name(held.operation, operation) and held.revision == revision
    ]
    latest = max(numbers, default=None)
    return None if latest is None or (latest, operation.lower()) in withdrawn else latest
