"""``ran``: a run of a revision on a machine, with lot, quantity and serials.

Without a revision named, what ran is taken to be what is released there: the revision of the latest release that is
not withdrawn, else the newest. A run while the standing was not usable is put down all the same, renews nothing, and
says so.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from tracker.errors import BadCall, Refused
from tracker.policy.at_run import RunJudges
from tracker.policy.book import Book, book_of
from tracker.policy.days import local_date, words, zone_of
from tracker.policy.deviations import deviations
from tracker.policy.find import label, number_of, same_name
from tracker.policy.may import require
from tracker.policy.spelled import counted, revision_words
from tracker.policy.standing import standing
from tracker.policy.states import Standing
from tracker.policy.stops import lift_of
from tracker.records.events import FirstPiece, RanRecord
from tracker.records.shop import Machine, Person
from tracker.records.stored import Stored
from tracker.services.acted import Acted, record_for
from tracker.services.comparing import PlainFile
from tracker.services.desk import Desk, acting, opening
from tracker.services.machine_named import machine_named
from tracker.services.naming import Named
from tracker.services.prove_ran import off_control
from tracker.services.prove_steps import ACCEPTED
from tracker.services.recorded import names
from tracker.services.recording import one_line
from tracker.services.target import Target, target
from tracker.services.usable import Board


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What is said of a run. ``day`` as YYYY-MM-DD, None for today in the shop's time zone."""

    lot: str | None = None
    quantity: int | None = None
    serials: Sequence[str] = ()
    day: str | None = None
    first_piece: str | None = None
    note: str | None = None
    at: datetime | None = None


def ran(
    desk: Desk,
    named: Named,
    run: Run,
    *,
    machine: str | None,
    by: str | None,
    files: Sequence[PlainFile] = (),
) -> Acted:
    """Put a run down; ``files``: the programs as they were run, if they are at hand.

    Raises:
        BadCall: unknown names, ``bad-date``, ``bad-quantity``.
        Refused: ``edited-at-control`` when a file is not the code of the revision, ``wrong-role``, ``detached-head``,
            ``moved``.
    """
    found = target(desk, _meant(desk, named))
    place = machine_named(found.shop, machine)
    person = acting(desk, found.shop, by)
    require(found.shop, person, "ran", desk.clock.now())
    _as_recorded(desk, found, files)
    day = _day(desk, found, run)
    if run.quantity is not None and run.quantity < 1:
        raise BadCall(
            "bad-quantity", f"{run.quantity} pieces is no run", fix="leave --quantity out, or put it right"
        )
    record = RanRecord(
        job=found.record.job,
        operation=found.record.operation,
        revision=found.stored.name,
        reason=one_line(run.note),
        machine=place.id,
        operation_fingerprint=found.record.operation_fingerprint,
        lot=one_line(run.lot),
        quantity=run.quantity,
        serials=tuple(one for text in run.serials for one in text.replace(",", " ").split()),
        date=day.isoformat(),
        first_piece=_first_piece(run.first_piece, person),
        **opening(desk, person, at=run.at),
    )
    seen = _as_it_ran(found, place, record)
    return record_for(
        desk,
        found,
        (record,),
        author=person,
        said=f"ran on {place.id} on {words(day)}{_which(record)}",
        machines=(place,),
        notes=(
            *_notes(found, named, record, seen, asked=bool(files)),
            *(_out_of_date(desk, found, run) if files and seen.usable else ()),
        ),
    )


def _as_it_ran(found: Target, place: Machine, record: RanRecord) -> Standing:
    """The standing the run is judged by, as an audit will: now, where it is put down as it happened."""
    now = record.entered
    if record.at < now or record.date != local_date(now, zone_of(found.shop)).isoformat():
        stored = Stored(record=record, path="", sha256="", commit="", order=0)
        return RunJudges(found.ledger).of(stored, record).standing(found.stored, place)
    return standing(found.ledger, found.stored, place, now)


def _which(record: RanRecord) -> str:
    """``, lot A1, 12 pieces, serials 7, 8``: as far as they were said."""
    said = [f"lot {record.lot}"] if record.lot else []
    if record.quantity is not None:
        said.append(counted(record.quantity, "piece"))
    if record.serials:
        said.append(f"serials {', '.join(record.serials)}")
    return "".join(f", {part}" for part in said)


def before_asking(desk: Desk, named: Named, run: Run, files: Sequence[PlainFile]) -> tuple[str, ...]:
    """What is to be said before anything is asked: that the text is not what is released now.

    Raises Refused (``edited-at-control``) as `ran` does.
    """
    found = target(desk, _meant(desk, named))
    _as_recorded(desk, found, files)
    return tuple(_out_of_date(desk, found, run))


def _as_recorded(desk: Desk, found: Target, files: Sequence[PlainFile]) -> None:
    """A run of an edited text is no run of the revision."""
    edited = off_control(desk, found, files).edited if files else ()
    if edited:
        names = ", ".join(one.difference.new for one in edited)
        raise Refused(
            "edited-at-control",
            f"{names} is not the text of {found.label}: it was edited at the control",
            fix=f"take the edit in first: proveout collect DIR --checkin {found.job}/{found.operation}",
        )


def _meant(desk: Desk, named: Named) -> Named:
    """The revision that is released now, where none is named and one is."""
    if named.revision is not None:
        return named
    ledger = desk.repo.ledger()
    job, operation = names(desk, named, ledger)
    book = book_of(ledger, job, desk.clock.now())
    for release in sorted(book.releases, key=lambda entry: entry.record.number, reverse=True):
        for held in release.record.operations:
            if same_name(held.operation, operation):
                if _withdrawn(book, release.record.number, operation):
                    break
                digits = held.revision.partition("-")[2] or None
                return replace(
                    named, job=job, operation=operation, revision=number_of(held.revision), digits=digits
                )
    return named


def _withdrawn(book: Book, number: int, operation: str) -> bool:
    return any(
        entry.record.number == number
        and lift_of(book, entry.stored) is None
        and (
            not entry.record.operations
            or any(same_name(one.operation, operation) for one in entry.record.operations)
        )
        for entry in book.withdrawals
    )


def _day(desk: Desk, found: Target, run: Run) -> date:
    """As it was said, by ``day`` or by ``at``; today where neither was."""
    zone = zone_of(found.shop)
    today = local_date(desk.clock.now(), zone)
    at = None if run.at is None else local_date(run.at, zone)
    if run.day is None:
        return at or today
    try:
        day = date.fromisoformat(run.day)
    except ValueError as fault:
        raise BadCall("bad-date", f"{run.day!r} is no date", fix="write it like 2026-03-20") from fault
    if day > today:
        raise BadCall("bad-date", f"{run.day} has not come yet", fix="a run is put down when it has happened")
    if at not in (None, day):
        raise BadCall("bad-date", f"--at is on {at}, --date on {day}", fix="say one of them")
    return day


def _first_piece(said: str | None, person: Person) -> FirstPiece | None:
    report = one_line(said)
    return FirstPiece(report=report, by=person.initials, result=ACCEPTED) if report else None


def _out_beside(found: Target, record: RanRecord) -> list[str]:
    """Other texts of the operation that were out on that machine under a deviation that day."""
    zone = zone_of(found.shop)
    others = [
        revision_words(book_of(found.ledger, found.job, record.entered), one.record.revision or "")
        for one in deviations(found.ledger, record.entered)
        if same_name(one.record.job, found.job)
        and same_name(one.record.operation, found.operation)
        and same_name(one.record.machine, record.machine)
        and one.record.revision != record.revision
        and local_date(one.record.entered, zone).isoformat() <= (record.date or "")
        and (record.date or "") <= local_date(one.ends, zone).isoformat()
    ]
    return [
        f"{name} was out on {record.machine} under a deviation: if that is what ran, strike this run and name "
        f"{found.job}/{found.operation}@{name}"
        for name in dict.fromkeys(others)
    ]


def _out_of_date(desk: Desk, found: Target, run: Run) -> Iterator[str]:
    """That what was run from a stick is not what is released; of a run of another time nothing is said."""
    if run.day is not None or run.at is not None:
        return
    released = Board(desk, found.ledger).released(found.job, found.operation)
    if released is not None and released.stored.name != found.stored.name:
        yield (
            f"{label(released.stored.name)} is what is released now (release {released.release}), and {found.label} was "
            "run: export again, and tell quality which pieces"
        )


def _serials(record: RanRecord) -> Iterator[str]:
    """Serials that are likely a slip: a piece has one, and no other piece has it."""
    clear = "if that is a slip, strike this run and put it down again"
    twice = [one for one, count in Counter(record.serials).items() if count > 1]
    if twice:
        yield f"serial {', '.join(twice)} stands more than once; {clear}"
    if record.quantity is not None and len(record.serials) > record.quantity:
        yield f"{len(record.serials)} serials for {counted(record.quantity, 'piece')}; {clear}"


def _notes(found: Target, named: Named, record: RanRecord, seen: Standing, *, asked: bool) -> list[str]:
    """``asked``: of a stick, where a lot that is missing is said before anything is put down."""
    notes = []
    if named.revision is None and not found.is_newest:
        notes.append(f"{found.label} is what was released last; it is not the newest revision")
    notes += _out_beside(found, record) if named.revision is None else []
    if not seen.usable:
        notes.append(f"it was {seen.state}: {seen.reason}. The run is kept, and renews nothing")
    if seen.first_piece and record.first_piece is None:
        notes.append(
            "this run asked for a first piece and none is named: its report is said with --first-piece"
        )
    notes += _serials(record)
    if record.lot is None and not record.serials and not asked:
        notes.append("no lot is named (--lot), so that no lot leads back to this run; its day does")
    return notes
