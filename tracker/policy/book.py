"""One job's records as they count on a day: nothing entered later, nothing struck, sorted by what they are.

Permission (proofs, reviews, countersigns, lifts, runs) is read from the tree in hand only; what stops use is read
from every branch and tag. A run counts if who reports it was listed. A stop made by a clock that ran ahead counts once something entered by the day follows it.
"""

from collections.abc import Callable, Mapping
from datetime import date, datetime, tzinfo

from tracker.frozen import dataclass, field, replace
from tracker.policy.days import end_of_day, local_date, zone_of
from tracker.policy.shops import shop_on, was_listed
from tracker.policy.signed import Worth
from tracker.policy.strikes import stops_use, struck
from tracker.policy.unsigned import not_counting
from tracker.records.events import (
    AnyRecord,
    CountersignRecord,
    HoldRecord,
    LiftRecord,
    MeasuredRecord,
    ProofRecord,
    RanRecord,
    ReleaseRecord,
    ReviewRecord,
    RevisionRecord,
    StrikeRecord,
    WithdrawRecord,
)
from tracker.records.shop import Policy, Shop
from tracker.records.stored import Ledger, Stored
from tracker.typed import Generic, TypeVar, cast

R = TypeVar("R", bound=AnyRecord)
T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry(Generic[R]):
    """A record of a known kind with the place it came from."""

    stored: Stored
    record: R


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """What counts on ``day`` for one job. ``ledger`` is the job's part of everything, not cut to the day.

    ``unsigned``: the paths of permissions that must be signed and are not. Proofs and revisions among them are shown with that
    as what they owe; the others are not here.
    """

    ledger: Ledger
    day: date
    zone: tzinfo
    shop: Shop
    revisions: Mapping[str, Entry[RevisionRecord]]
    proofs: tuple[Entry[ProofRecord], ...]
    rejected: tuple[Entry[ProofRecord], ...]
    measured: tuple[Entry[MeasuredRecord], ...]
    countersigns: tuple[Entry[CountersignRecord], ...]
    reviews: tuple[Entry[ReviewRecord], ...]
    holds: tuple[Entry[HoldRecord], ...]
    withdrawals: tuple[Entry[WithdrawRecord], ...]
    lifts: tuple[Entry[LiftRecord], ...]
    releases: tuple[Entry[ReleaseRecord], ...]
    runs: tuple[Entry[RanRecord], ...]
    unsigned: Mapping[str, Worth] = field(default_factory=dict)
    _known: dict[tuple[str, ...], object] = field(default_factory=dict, compare=False, repr=False)

    def once(self, key: tuple[str, ...], make: Callable[[], T]) -> T:
        """What ``make`` gives, worked out once for this book; the key names what is asked and of what."""
        if key not in self._known:
            self._known[key] = make()
        return cast(T, self._known[key])

    @property
    def policy(self) -> Policy:
        """The policy of that day."""
        return self.shop.policy

    def on(self, day: date) -> "Book":
        """The same job on another day."""
        return self.once(("on", day.isoformat()), lambda: open_book(self.ledger, day, self.zone))


def in_line(stored: Stored) -> tuple[int, datetime, str]:
    """The place of a record; those of one commit by their time and their name."""
    return stored.order, stored.record.entered, stored.path


def part_of(ledger: Ledger, job: str | None) -> Ledger:
    """The records of one job and those that belong to no job."""
    wanted = (job or "").casefold()
    kept = tuple(s for s in ledger.records if s.record.job is None or s.record.job.casefold() == wanted)
    return replace(ledger, records=kept)


def book_of(ledger: Ledger, job: str | None, moment: datetime) -> Book:
    """One job's book on the day ``moment`` falls on in the shop."""
    zone = zone_of(ledger.shop)
    return open_book(part_of(ledger, job), local_date(moment, zone), zone)


def open_book(part: Ledger, day: date, zone: tzinfo) -> Book:
    """The book of a ledger that holds one job's records only."""
    by_then = _known_by(part, day, zone)
    unsigned = not_counting(part, by_then)
    heard = [stored for stored in by_then if not _unsigned_strike(stored, unsigned)]
    known = replace(part, records=tuple(sorted(heard, key=in_line)))
    gone = struck(known)
    counting = [stored for stored in known.records if stored.path not in gone]
    in_hand = [stored for stored in counting if stored.in_hand]
    permits = [stored for stored in in_hand if stored.path not in unsigned]
    stops = [stored for stored in counting if stops_use(stored.record)]
    return Book(
        ledger=part,
        day=day,
        zone=zone,
        shop=shop_on(part, end_of_day(day, zone)),
        revisions=_revisions(counting),
        proofs=_all(in_hand, ProofRecord),
        rejected=_all(stops, ProofRecord),
        measured=_all(
            [s for s in counting if stops_use(s.record) or (s.in_hand and s.path not in unsigned)],
            MeasuredRecord,
        ),
        countersigns=_all(permits, CountersignRecord),
        reviews=_all(permits, ReviewRecord),
        holds=_all(stops, HoldRecord),
        withdrawals=_all(stops, WithdrawRecord),
        lifts=_all([s for s in counting if s.path not in unsigned], LiftRecord),
        releases=_all(counting, ReleaseRecord),
        runs=tuple(r for r in _all(permits, RanRecord) if was_listed(part, r.stored, r.record.by)),
        unsigned=unsigned,
    )


def _known_by(part: Ledger, day: date, zone: tzinfo) -> list[Stored]:
    """What was entered by the end of a day, and the stops whose clock ran ahead of it."""
    by_then = [stored for stored in part.records if local_date(stored.record.entered, zone) <= day]
    there = {stored.path for stored in by_then}
    ahead = [
        stored
        for stored in part.records
        if stored.path not in there and stops_use(stored.record) and _overtaken(part, stored, by_then)
    ]
    return [*by_then, *ahead]


def _unsigned_strike(stored: Stored, unsigned: Mapping[str, Worth]) -> bool:
    return stored.path in unsigned and isinstance(stored.record, StrikeRecord)


def _revisions(counting: list[Stored]) -> dict[str, Entry[RevisionRecord]]:
    """By name; a text of before the record is read and compared, and nothing stands on it."""
    found = _all(counting, RevisionRecord)
    return {entry.stored.name: entry for entry in found if entry.record.before is None}


def _overtaken(part: Ledger, stop: Stored, by_then: list[Stored]) -> bool:
    """Whether a stop dated after the day was there all the same: something entered by then comes after it.

    Its clock ran ahead. What stops use must not wait for the day that clock believed in.
    """
    return any(
        stored.commit != stop.commit and part.descends(stored.commit, stop.commit) for stored in by_then
    )


def _all(records: list[Stored], kind: type[R]) -> tuple[Entry[R], ...]:
    return tuple(
        Entry(stored=stored, record=stored.record) for stored in records if isinstance(stored.record, kind)
    )
