"""``lift``: the end of a hold, in the words the hold was made with, or of a release's withdrawal (``JOB@N``).

Where several holds of the same words are in force, all of them end, each by a record of its own. A machine's hold ends
with a word on what was checked there.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from tracker.errors import BadCall, Refused
from tracker.policy.book import Book, Entry, book_of
from tracker.policy.find import label, same_name
from tracker.policy.groups import same_machine
from tracker.policy.may import require
from tracker.policy.spelled import by_words, revision_words
from tracker.policy.stops import holds, lift_of
from tracker.records.events import HoldRecord, LiftRecord, Record, WithdrawRecord
from tracker.records.shop import Person
from tracker.records.stored import Ledger, Stored
from tracker.services.acted import Acted, machines_of, record_for, standings
from tracker.services.desk import Desk, acting, opening
from tracker.services.hold import MACHINE, OPERATION, REVISION, OperationPlace, operation_place
from tracker.services.locate import find_job
from tracker.services.machine_named import machine_named
from tracker.services.naming import Named
from tracker.services.paths import folder_of
from tracker.services.ports import Head
from tracker.services.recording import attached_head, one_line, put_down, reason_text
from tracker.services.release_named import ReleaseNamed, release_records
from tracker.services.revision_text import job_path_of
from tracker.services.target import Target, target

_LOOK = "proveout status shows what is held and what is withdrawn"


def lift(
    desk: Desk, named: Named, *, by: str | None, reason: str | None, at: datetime | None = None
) -> Acted:
    """End the holds of a revision, or of an operation where no revision is named.

    Raises:
        BadCall: unknown names, ``no-reason``.
        Refused: ``nothing-to-lift``, ``wrong-role``, ``detached-head``, ``moved``.
    """
    if named.revision is None:
        return _lift_operation(desk, named, by=by, reason=reason, at=at)
    found = target(desk, named)
    person = _quality(desk, found.ledger, by)
    stops = _holds_of_revision(desk, found)
    if not stops:
        raise Refused(
            "nothing-to-lift", f"{found.spelled} is not held by itself", fix=_elsewhere(desk, found)
        )
    why = reason_text(reason, "why may it be used again?")
    words = opening(desk, person, at=at)
    records = tuple(
        LiftRecord(
            job=found.record.job,
            operation=found.record.operation,
            revision=found.stored.name,
            reason=why,
            hold=stop.path,
            **words,
        )
        for stop in stops
    )
    said = f"hold lifted by {person.initials}"
    notes = _ended(book_of(found.ledger, found.record.job, desk.clock.now()), stops)
    return record_for(
        desk, found, records, author=person, said=said, machines=machines_of(desk, found), notes=notes
    )


def lift_machine(
    desk: Desk,
    name: str,
    *,
    by: str | None,
    check: str | None,
    reason: str | None = None,
    at: datetime | None = None,
) -> Acted:
    """End the holds of a machine; ``check`` says what was checked there.

    Raises:
        BadCall: ``unknown-machine``, ``no-check``, unknown people.
        Refused: ``nothing-to-lift``, ``wrong-role``, ``detached-head``, ``moved``.
    """
    head = attached_head(desk)
    ledger = desk.repo.ledger()
    machine = machine_named(ledger.shop, name)
    person = _quality(desk, ledger, by)
    checked = one_line(check)
    if checked is None:
        raise BadCall("no-check", f"what was checked on {machine.id}?", fix="say it with --check")
    book = book_of(ledger, None, desk.clock.now())
    stops = [
        entry.stored
        for entry in book.holds
        if entry.record.scope == MACHINE
        and same_machine(entry.record.machine or "", machine.id)
        and lift_of(book, entry.stored) is None
    ]
    if not stops:
        raise Refused("nothing-to-lift", f"{machine.id} is not held", fix=_LOOK)
    words = opening(desk, person, at=at)
    records = tuple(
        LiftRecord(reason=one_line(reason), hold=stop.path, machine=machine.id, check=checked, **words)
        for stop in stops
    )
    said = f"{machine.id}: hold lifted by {person.initials}, checked: {checked}"
    done = put_down(desk, ledger, head, None, records, author=person, message=said)
    return Acted(
        said=said,
        records=records,
        paths=done.paths,
        commit=done.commit,
        notes=(*_ended(book, stops), f"each operation's next run on {machine.id} asks a first piece"),
    )


def lift_withdrawal(
    desk: Desk, named: ReleaseNamed, *, by: str | None, reason: str | None, at: datetime | None = None
) -> Acted:
    """End the withdrawal of a release.

    Raises:
        BadCall: ``unknown-job``, ``unknown-release``, ``no-reason``.
        Refused: ``nothing-to-lift``, ``wrong-role``, ``detached-head``, ``moved``.
    """
    head = attached_head(desk)
    ledger = desk.repo.ledger()
    person = _quality(desk, ledger, by)
    job, folder = _job_of(desk, ledger, named.job)
    book = book_of(ledger, job, desk.clock.now())
    every = [entry.stored for entry in book.withdrawals if entry.record.number == named.number]
    if not every:
        release_records(ledger, replace(named, job=job))
    stops = [stored for stored in every if lift_of(book, stored) is None]
    if not stops:
        raise Refused("nothing-to-lift", f"release {named.number} of {job} is not withdrawn", fix=_LOOK)
    why = reason_text(reason, "why may it be used again?")
    words = opening(desk, person, at=at)
    records = tuple(LiftRecord(job=job, reason=why, withdrawal=stop.path, **words) for stop in stops)
    said = f"{job} release {named.number}: withdrawal lifted by {person.initials}"
    done = put_down(desk, ledger, head, folder, records, author=person, message=f"{said}: {why}")
    return Acted(said=said, records=records, paths=done.paths, commit=done.commit, notes=_ended(book, stops))


def _lift_operation(
    desk: Desk, named: Named, *, by: str | None, reason: str | None, at: datetime | None
) -> Acted:
    head = attached_head(desk)
    found = operation_place(desk, named)
    person = _quality(desk, found.ledger, by)
    book = book_of(found.ledger, found.job, desk.clock.now())
    stops = [entry.stored for entry in _in_force(book, OPERATION, found.operation)]
    if not stops:
        raise Refused(
            "nothing-to-lift", f"{found.spelled} is not held as a whole", fix=_revision_holds(book, found)
        )
    return _put_down(desk, head, found, stops, _ended(book, stops), person=person, reason=reason, at=at)


def _put_down(
    desk: Desk,
    head: Head,
    found: OperationPlace,
    stops: Iterable[Stored],
    notes: tuple[str, ...],
    *,
    person: Person,
    reason: str | None,
    at: datetime | None,
) -> Acted:
    why = reason_text(reason, "why may it be used again?")
    words = opening(desk, person, at=at)
    records = tuple(
        LiftRecord(job=found.job, operation=found.operation, reason=why, hold=stop.path, **words)
        for stop in stops
    )
    said = f"{found.spelled}: hold lifted by {person.initials}"
    done = put_down(
        desk, found.ledger, head, found.job_folder, records, author=person, message=f"{said}: {why}"
    )
    return Acted(
        said=said,
        records=records,
        paths=done.paths,
        commit=done.commit,
        standings=standings(desk, found.revisions, found.machines),
        notes=notes,
    )


def _ended(book: Book, stops: Sequence[Stored]) -> tuple[str, ...]:
    """Each stop that ends, where they are several: made by others, for other reasons perhaps."""
    return tuple(f"this ended: {_told(book, stop.record)}" for stop in stops) if len(stops) > 1 else ()


def _told(book: Book, record: Record) -> str:
    """``withdrawn by dg 20 Mar 2026 (op20 r1): edge break``."""
    texts = [
        f"{one.operation} {label(one.revision)}"
        for one in (record.operations if isinstance(record, WithdrawRecord) else ())
    ]
    what = "withdrawn" if isinstance(record, WithdrawRecord) else "held"
    of = f" ({', '.join(texts)})" if texts else ""
    return f"{what} by {by_words(book, record)}{of}: {record.reason or 'no reason given'}"


def _quality(desk: Desk, ledger: Ledger, by: str | None) -> Person:
    person = acting(desk, ledger.shop, by)
    require(ledger.shop, person, "lift", desk.clock.now())
    return person


def _holds_of_revision(desk: Desk, found: Target) -> list[Stored]:
    """Holds in force that were made on this revision or its code."""
    book = book_of(found.ledger, found.record.job, desk.clock.now())
    entry = book.revisions.get(found.stored.name)
    # where it runs does not matter for a revision's hold; one machine is as good as another
    machine = next(iter(found.shop.machines), None)
    if entry is None or machine is None:
        return []
    stops = [stored for cause in holds(book, entry, machine) for stored in cause.records]
    return [stored for stored in stops if _scope(stored.record) == REVISION]


def _scope(record: Record) -> str:
    return record.scope if isinstance(record, HoldRecord) else ""


def _elsewhere(desk: Desk, found: Target) -> str:
    """What is held instead, for a person who named the revision."""
    book = book_of(found.ledger, found.record.job, desk.clock.now())
    for entry in _in_force(book, OPERATION, found.operation):
        who = by_words(book, entry.record)
        return f"the whole operation is held by {who}: lift {found.job}/{found.operation}"
    return _LOOK


def _revision_holds(book: Book, found: OperationPlace) -> str:
    """What is held instead, for a person who named the operation."""
    for entry in _in_force(book, REVISION, found.operation):
        name = revision_words(book, entry.record.revision)
        return f"{name} is held by {by_words(book, entry.record)}: lift {found.spelled}@{name}"
    return _LOOK


def _in_force(book: Book, scope: str, operation: str) -> list[Entry[HoldRecord]]:
    return [
        entry
        for entry in book.holds
        if entry.record.scope == scope
        and same_name(entry.record.operation, operation)
        and lift_of(book, entry.stored) is None
    ]


def _job_of(desk: Desk, ledger: Ledger, name: str) -> tuple[str, str]:
    """Number and folder of a job, from the tree in hand or else from its records."""
    try:
        path = find_job(desk.repo.tree(), name)
        return desk.repo.tree().job(path).number, folder_of(path)
    except BadCall:
        for stored in ledger.records:
            if same_name(stored.record.job, name):
                return stored.record.job or name, folder_of(job_path_of(stored))
        raise
