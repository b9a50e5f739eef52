"""How a run is judged: by what counted when it happened, as far as the record tells.

Rules:

1. A run is judged on the day it names, never later than the day it was entered.
2. Where that day is the local day of the record's own time (never later than its entry), what came after the run does
   not count: at that moment it was not there. Where only a day is named (``ran --date``), the end of the day judges.
3. What follows a run put down as it happened came after it, and what such a run follows was there before, whatever the
   clocks say. Else times tell: of a stop the time of its entry, of a permission the time it claims, so that a proof which
   was written down after the run it was made for counts.
4. A line through a stop counts the whole day: the stop was a slip all along.
"""

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

from tracker.policy.days import end_of_day, happened_on, local_date, zone_of
from tracker.policy.standing import ByJob, Judge, records_by_job
from tracker.policy.strikes import stops_use
from tracker.records.events import (
    CountersignRecord,
    HoldRecord,
    LiftRecord,
    MeasuredRecord,
    ProofRecord,
    RanRecord,
    ReviewRecord,
    StrikeRecord,
    WithdrawRecord,
)
from tracker.records.stored import Ledger, Stored

_PERMITS = (ProofRecord, MeasuredRecord, CountersignRecord, ReviewRecord, LiftRecord)
_KINDS = (*_PERMITS, HoldRecord, WithdrawRecord, StrikeRecord)
"""What a standing changes by within a day, beside a text and a policy."""


class Entered:
    """The records of each job, and those a standing changes by, by the date they were entered in UTC."""

    __slots__ = ("_days", "by_job")

    def __init__(self, ledger: Ledger) -> None:
        self.by_job: ByJob = records_by_job(ledger)
        self._days: dict[str, dict[date, list[Stored]]] = {}

    def around(self, key: str, day: date) -> Iterator[Stored]:
        """Those of one job, or of none, that may have been entered on a local day."""
        if key not in self._days:
            days: dict[date, list[Stored]] = {}
            for stored in self.by_job.get(key, ()):
                if isinstance(stored.record, _KINDS):
                    days.setdefault(stored.record.entered.date(), []).append(stored)
            self._days[key] = days
        for shift in (-1, 0, 1):
            yield from self._days[key].get(day + timedelta(days=shift), ())


class RunJudges:
    """Who judges a run; runs of one day between which nothing changed have one judge."""

    __slots__ = ("_entered", "_judges", "_ledger", "_zone")

    def __init__(self, ledger: Ledger, entered: Entered | None = None) -> None:
        """Args: entered: of this very ledger, where runs of many jobs are asked about in turn."""
        self._ledger = ledger
        self._entered = Entered(ledger) if entered is None else entered
        self._zone = zone_of(ledger.shop)
        self._judges: dict[tuple[str, date, frozenset[str]], Judge] = {}

    def of(self, stored: Stored, run: RanRecord) -> Judge:
        """The judge of one run."""
        day = min(_day(run) or happened_on(run, self._zone), local_date(run.entered, self._zone))
        moment = min(run.at, run.entered)
        job = (run.job or "").casefold()
        keys = dict.fromkeys((job, ""))
        after: frozenset[str] = frozenset()
        if local_date(moment, self._zone) == day:
            there = (one for key in keys for one in self._entered.around(key, day))
            after = frozenset(one.path for one in there if self._after(one, stored, moment, day))
        name = (job if after else "", day, after)
        if name not in self._judges:
            known = self._entered.by_job
            if after:
                known = {key: _without(known.get(key, ()), after) for key in keys}
            self._judges[name] = Judge(self._ledger, end_of_day(day, self._zone), known)
        return self._judges[name]

    def _after(self, one: Stored, run: Stored, moment: datetime, day: date) -> bool:
        """Whether a record was not there yet when the run happened, though it was entered that day."""
        record = one.record
        if local_date(record.entered, self._zone) != day:
            return False
        if isinstance(record, StrikeRecord) and not self._takes_away(record):
            return False
        permits = isinstance(record, _PERMITS) and not stops_use(record)
        if run.record.at >= run.record.entered and one.commit != run.commit:
            if self._ledger.descends(run.commit, one.commit):
                return False
            if not permits and self._ledger.descends(one.commit, run.commit):
                return True
        return (min(record.at, record.entered) if permits else record.entered) > moment

    def _takes_away(self, strike: StrikeRecord) -> bool:
        """Whether a line goes through a permission."""
        key = (strike.job or "").casefold()
        lines = (one for one in self._entered.by_job.get(key, ()) if one.path == strike.record)
        return any(isinstance(one.record, _PERMITS) and not stops_use(one.record) for one in lines)


def _without(records: Sequence[Stored], paths: frozenset[str]) -> tuple[Stored, ...]:
    return tuple(stored for stored in records if stored.path not in paths)


def _day(run: RanRecord) -> date | None:
    """The day as the record says it; None where it says none that can be read."""
    try:
        return date.fromisoformat(run.date[:10]) if run.date else None
    except ValueError:
        return None
