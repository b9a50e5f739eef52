"""Deviations: a text that goes to a machine in an emergency without standing there; never a release.

Rules:

1. It lasts the hours its record says, from when it was entered; never longer than the policy of that day allowed.
2. A second person with role setup or quality, neither who made it nor who entered it, has to stand behind it, unless
   the shop asks for no second person. A countersign counts from the tree in hand only, and neither when struck nor for want
   of a signature it must have.
3. It is shown until both are so: over, and countersigned. What is over and still owed comes first, then what is owed,
   then what runs.
4. A line through its record ends nothing: the text went out.
5. It is read from every branch and tag, as stops are.
6. It goes over no stop: a text that is held, withdrawn or rejected there since may not run, whatever hours are left.
"""

from datetime import datetime, timedelta

from tracker.frozen import dataclass
from tracker.policy.find import same_name
from tracker.policy.shops import hands_had_role, shop_at
from tracker.policy.standing import standing
from tracker.policy.states import HELD, REJECTED, WITHDRAWN
from tracker.policy.strikes import struck
from tracker.policy.unsigned import unsigned
from tracker.records.events import CountersignRecord, DeviationRecord, RevisionRecord
from tracker.records.stored import Ledger, Stored

OVERDUE, OWED, RUNNING, CLOSED = "overdue", "owed", "running", "closed"
STATES = (OVERDUE, OWED, RUNNING, CLOSED)
STOPS = frozenset({HELD, WITHDRAWN, REJECTED})
LEAST_REASON = 20
"""A reason of fewer characters says nothing to the person who has to stand behind it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """One deviation on a moment.

    ``ends`` when its hours are over; ``signed_by`` initials of the second person, None while there is none; ``state``
    overdue (over, a second person owed), owed, running (signed or none asked), closed; ``stopped`` why its text may not run
    any more though its hours are not over.
    """

    stored: Stored
    record: DeviationRecord
    ends: datetime
    signed_by: str | None
    state: str
    stopped: str | None = None

    @property
    def over(self) -> bool:
        """Whether its hours are over."""
        return self.state in (OVERDUE, CLOSED)

    @property
    def owing(self) -> bool:
        """Whether a second person is owed."""
        return self.state in (OVERDUE, OWED)


def deviations(ledger: Ledger, now: datetime) -> tuple[Deviation, ...]:
    """Every deviation ever recorded, as it is at ``now``; overdue first, then by the end of their hours."""
    gone: frozenset[str] | None = None
    found: list[Deviation] = []
    for stored in ledger.records:
        record = stored.record
        if isinstance(record, DeviationRecord):
            gone = struck(ledger) if gone is None else gone
            found.append(_judged(ledger, stored, record, now, gone))
    return tuple(sorted(found, key=lambda one: (STATES.index(one.state), one.ends, one.stored.path)))


def shown(ledger: Ledger, now: datetime) -> tuple[Deviation, ...]:
    """Those that every status opens with."""
    return tuple(one for one in deviations(ledger, now) if one.state != CLOSED)


def ends(record: DeviationRecord, ceiling: int) -> datetime:
    """When its hours are over; ``ceiling``: what the policy allowed then, in hours."""
    return record.entered + timedelta(hours=max(0, min(record.hours, ceiling)))


def _judged(
    ledger: Ledger, stored: Stored, record: DeviationRecord, now: datetime, gone: frozenset[str]
) -> Deviation:
    policy = shop_at(ledger, stored).policy
    end = ends(record, policy.deviation_hours)
    signed = _signed_by(ledger, stored, record, gone)
    owed = policy.two_person and signed is None
    over = now >= end
    state = (OVERDUE if over else OWED) if owed else (CLOSED if over else RUNNING)
    stopped = None if over else _stopped(ledger, record, now)
    return Deviation(stored=stored, record=record, ends=end, signed_by=signed, state=state, stopped=stopped)


def _stopped(ledger: Ledger, record: DeviationRecord, now: datetime) -> str | None:
    """Why the text was stopped on its machine since."""
    machine = ledger.shop.machine(record.machine)
    for stored in ledger.records:
        text = stored.record
        if (
            machine is not None
            and isinstance(text, RevisionRecord)
            and stored.name == record.revision
            and same_name(text.job, record.job)
            and same_name(text.operation, record.operation)
        ):
            place = standing(ledger, stored, machine, now)
            return place.reason if place.state in STOPS else None
    return None


def _signed_by(ledger: Ledger, stored: Stored, record: DeviationRecord, gone: frozenset[str]) -> str | None:
    first = {record.by.casefold(), (record.entered_by or record.by).casefold()}
    for other in ledger.records:
        sign = other.record
        if not isinstance(sign, CountersignRecord) or sign.proof != stored.path:
            continue
        hands = {sign.by.casefold(), (sign.entered_by or sign.by).casefold()}
        counts = (
            other.in_hand and other.path not in gone and not hands & first and ledger.later(other, stored)
        )
        if counts and unsigned(ledger, other) is None and hands_had_role(ledger, other, "setup", "quality"):
            return sign.by
    return None
