"""The standing of a revision on a machine on a day: a pure function of records, the policy of that day, and the date.

A date means its end in the shop's time zone. Records entered later do not exist yet; struck ones no longer do. Of
several causes the first of withdrawn, held, rejected, lapsed, unproven, carried, proven is the state, and the reason
names all of them.

For one question call `standing`; for many on one ledger make a `Judge` and ask it.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime

from tracker.frozen import replace
from tracker.policy.book import Book, Entry, in_line, open_book
from tracker.policy.carry import Chain, Reach, reach
from tracker.policy.days import local_date, zone_of
from tracker.policy.first_piece import first_piece_due
from tracker.policy.lapse import Usable, Use, lapses_on, last_use
from tracker.policy.reasons import (
    before_cause,
    carried_words,
    lapsed_cause,
    limits_of_renewal,
    notes_about,
    proven_words,
    renewed_words,
    unproven_causes,
)
from tracker.policy.states import CARRIED, PRECEDENCE, PROVEN, Cause, Standing
from tracker.policy.stops import holds, lifts_relied_on, rejections, withdrawals
from tracker.records.events import RevisionRecord
from tracker.records.shop import Machine
from tracker.records.stored import Ledger, Stored

ByJob = Mapping[str, Sequence[Stored]]


def records_by_job(ledger: Ledger) -> ByJob:
    """The records of each job, by its number without regard to case; those of no job under an empty one."""
    found: dict[str, list[Stored]] = {}
    for stored in ledger.records:
        found.setdefault((stored.record.job or "").casefold(), []).append(stored)
    return found


class Judge:
    """Judges revisions of one ledger on one day; the book of a job is opened once."""

    __slots__ = ("_books", "_by_job", "_ledger", "day", "zone")

    def __init__(self, ledger: Ledger, moment: datetime, by_job: ByJob | None = None) -> None:
        """Args: by_job: `records_by_job` of this very ledger, where many days of it are asked about."""
        self._ledger = ledger
        self.zone = zone_of(ledger.shop)
        self.day: date = local_date(moment, self.zone)
        self._by_job = records_by_job(ledger) if by_job is None else by_job
        self._books: dict[str, Book] = {}

    def book(self, job: str | None) -> Book:
        """What counts on the day for one job."""
        key = (job or "").casefold()
        if key not in self._books:
            common = self._by_job.get("", ()) if key else ()
            records = sorted((*self._by_job.get(key, ()), *common), key=in_line)
            part = replace(self._ledger, records=tuple(records))
            self._books[key] = open_book(part, self.day, self.zone)
        return self._books[key]

    def standing(self, revision: Stored, machine: Machine) -> Standing:
        """The standing of one revision on one machine; raises TypeError if the record is no revision."""
        record = revision.record
        if not isinstance(record, RevisionRecord):
            raise TypeError(f"{revision.path} is no revision record")
        book = self.book(record.job)
        return judge(book, Entry(stored=revision, record=record), machine)


def standing(ledger: Ledger, revision: Stored, machine: Machine, day: datetime) -> Standing:
    """The standing of ``revision`` on ``machine`` at the end of the day ``day`` falls on in the shop."""
    return Judge(ledger, day).standing(revision, machine)


def judge(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> Standing:
    """The standing by an open book."""
    stops = [*_stops(book, entry, machine)]
    if entry.record.before is not None:
        return _unproven(book, entry, machine, [*stops, before_cause(entry)])
    reached = reach(book, entry, machine)
    best = _best(book, reached, machine)
    if best is None:
        return _unproven(book, entry, machine, [*stops, *unproven_causes(book, entry, machine, reached)])
    chain, use = best
    lapsed = lapsed_cause(book, entry, machine, chain, use)
    due = first_piece_due(book, entry, machine, chain)
    if chain.steps:
        state, said = CARRIED, carried_words(book, entry, chain, stopped=bool(stops))
    else:
        state, said = PROVEN, proven_words(book, entry, chain)
    said += renewed_words(book, use)
    basis = Cause(state=state, words=f"{said}; {due}" if due else said, records=chain.records)
    causes = _in_order([*stops, *([lapsed] if lapsed else []), basis])
    return Standing(
        state=causes[0].state,
        reason="; ".join(cause.words for cause in causes),
        causes=causes,
        relied_on=_relied_on(book, entry, machine, chain, use),
        base=chain.root.proof.stored,
        chain=_names(entry, chain),
        first_run_tools=chain.tools,
        first_piece=due,
        limits=_limits(chain, use),
        lapses=lapses_on(book, use),
        notes=tuple(dict.fromkeys(notes_about(book, entry, machine))),
    )


def _limits(chain: Chain, use: Use) -> tuple[str, ...]:
    """What everything it stands on was limited to: the proofs of the chain, and the short forms that renewed it."""
    own = [found.proof.record.limits for found in chain.worths if found.proof.record.limits]
    return (*own, *(limit for _, limit in limits_of_renewal(use)))


def _unproven(book: Book, entry: Entry[RevisionRecord], machine: Machine, found: list[Cause]) -> Standing:
    causes = _in_order(found)
    return Standing(
        state=causes[0].state,
        reason="; ".join(cause.words for cause in causes),
        causes=causes,
        notes=tuple(dict.fromkeys(notes_about(book, entry, machine))),
    )


def _best(book: Book, reached: Reach, machine: Machine) -> tuple[Chain, Use] | None:
    """The chain to stand on: one that has not lapsed before one that has, then the nearest."""
    usable = _usable_then(book)
    found = [(chain, last_use(book, chain, machine, usable)) for chain in reached.chains]
    fresh = [pair for pair in found if not _has_lapsed(book, pair[1])]
    lapsed = sorted(found, key=lambda pair: pair[1].day, reverse=True)
    return next(iter(fresh or lapsed), None)


def _has_lapsed(book: Book, use: Use) -> bool:
    until = lapses_on(book, use)
    return until is not None and book.day >= until


def _usable_then(book: Book) -> Usable:
    """Whether a revision stood usable on an earlier day; the lapse is watched by the one who asks."""

    def usable(entry: Entry[RevisionRecord], machine: Machine, day: date) -> bool:
        then = book.on(day)
        known = then.revisions.get(entry.stored.name)
        return (
            known is not None
            and not any(_stops(then, known, machine))
            and bool(reach(then, known, machine).chains)
        )

    return usable


def _stops(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> Iterator[Cause]:
    yield from withdrawals(book, entry)
    yield from holds(book, entry, machine)
    yield from rejections(book, entry, machine)


def _in_order(causes: list[Cause]) -> tuple[Cause, ...]:
    return tuple(sorted(causes, key=lambda cause: PRECEDENCE.index(cause.state)))


def _names(entry: Entry[RevisionRecord], chain: Chain) -> tuple[str, ...]:
    names = [step.source for step in chain.steps] + [entry.stored.name]
    return tuple(dict.fromkeys(names))


def _relied_on(
    book: Book, entry: Entry[RevisionRecord], machine: Machine, chain: Chain, use: Use
) -> tuple[Stored, ...]:
    """The chain's records, what renewed it, and the lifts without which something would be stopped."""
    found = [*chain.records, *use.through, use.stored, *lifts_relied_on(book, entry, machine)]
    by_path = {stored.path: stored for stored in found}
    return tuple(sorted(by_path.values(), key=in_line))
