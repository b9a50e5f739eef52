"""Runs of what could not be used on that machine that day: they are kept, renew nothing, and are told here."""

from collections.abc import Iterator
from datetime import date

from tracker.policy.days import end_of_day, happened_on, local_date, zone_of
from tracker.policy.find import by_name, label
from tracker.policy.standing import Judge
from tracker.records.events import RanRecord
from tracker.records.stored import Ledger
from tracker.services.problem import WARN, Problem


def audit_runs(ledger: Ledger) -> Iterator[Problem]:
    """Every run in hand whose revision did not stand on its machine at the end of the day it happened on."""
    zone = zone_of(ledger.shop)
    judges: dict[date, Judge] = {}
    for stored in ledger.records:
        run = stored.record
        if not isinstance(run, RanRecord) or not stored.in_hand:
            continue
        machine = ledger.shop.machine(run.machine)
        if machine is None:
            continue
        day = min(_day(run) or happened_on(run, zone), local_date(run.entered, zone))
        if day not in judges:
            judges[day] = Judge(ledger, end_of_day(day, zone))
        # the book of the job, not the ledger of the shop: a run is looked up among its own job's records
        known = judges[day].book(run.job).ledger
        revision = by_name(known, run.job or "", run.operation or "", run.revision or "")
        if revision is None:
            continue
        found = judges[day].standing(revision, machine)
        if not found.usable:
            what = f"{run.job}/{run.operation} {label(run.revision)} ran on {machine.id}"
            yield Problem(
                problem="ran-not-usable", severity=WARN, where=stored.path, message=f"{what}: {found.reason}"
            )


def _day(run: RanRecord) -> date | None:
    """The day as the record says it; None where it says none that can be read."""
    try:
        return date.fromisoformat(run.date[:10]) if run.date else None
    except ValueError:
        return None
