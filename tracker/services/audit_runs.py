"""Runs of what could not be used on that machine that day: they are kept, renew nothing, and are told here.

What is found of a job hangs on its own records and those of no job, on the states they came in with (whose ids stand for
all they follow) and on shop.toml. The SHA-256 of all these names a job without such a run for the next audit.
"""

from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from datetime import date

from tracker.digest import sha256_of
from tracker.policy.days import end_of_day, happened_on, local_date, zone_of
from tracker.policy.find import by_name, label
from tracker.policy.standing import Judge
from tracker.records.events import RanRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.problem import WARN, Problem


def audit_runs(ledger: Ledger, shop: bytes, before: AbstractSet[str], held: set[str]) -> Iterator[Problem]:
    """Every run in hand whose revision did not stand on its machine at the end of the day it happened on.

    Args:
        ledger: every record.
        shop: the bytes of shop.toml in hand.
        before: names of jobs found without such a run before, under the same rules.
        held: where those found so now are added.
    """
    zone = zone_of(ledger.shop)
    judges: dict[date, Judge] = {}
    for name, runs in _by_job(ledger, shop):
        problems: list[Problem] = []
        for stored, run in runs if name not in before else ():
            day = min(_day(run) or happened_on(run, zone), local_date(run.entered, zone))
            if day not in judges:
                judges[day] = Judge(ledger, end_of_day(day, zone))
            problems += _run(judges[day], stored, run)
        if not problems:
            held.add(name)
        yield from problems


def _run(judge: Judge, stored: Stored, run: RanRecord) -> Iterator[Problem]:
    # the book of the job, not the ledger of the shop: a run is looked up among its own job's records
    known = judge.book(run.job).ledger
    machine = known.shop.machine(run.machine)
    revision = by_name(known, run.job or "", run.operation or "", run.revision or "")
    if machine is None or revision is None:
        return
    found = judge.standing(revision, machine)
    if not found.usable:
        what = f"{run.job}/{run.operation} {label(run.revision)} ran on {machine.id}"
        yield Problem(
            problem="ran-not-usable", severity=WARN, where=stored.path, message=f"{what}: {found.reason}"
        )


def _by_job(ledger: Ledger, shop: bytes) -> Iterator[tuple[str, Sequence[tuple[Stored, RanRecord]]]]:
    """The runs in hand of every job, and the name of all that is judged by."""
    rows: dict[str | None, list[str]] = {}
    runs: dict[str | None, list[tuple[Stored, RanRecord]]] = {}
    for stored in ledger.records:
        job = stored.record.job
        key = None if job is None else job.casefold()
        rows.setdefault(key, []).append(
            f"{stored.commit} {stored.sha256} {int(stored.in_hand)} {stored.path}"
        )
        if isinstance(stored.record, RanRecord) and stored.in_hand:
            runs.setdefault(key, []).append((stored, stored.record))
    of_all = [
        sha256_of(shop),
        *(version.commit for version in ledger.shops),
        *(f"? {bad.path} {bad.why}" for bad in ledger.unreadable),
        *rows.get(None, ()),
    ]
    base = _digest(of_all)
    for key, found in runs.items():
        yield f"runs-{_digest([base, *rows[key]])}", found


def _digest(rows: Sequence[str]) -> str:
    return sha256_of("\n".join(rows).encode("utf-8", "surrogateescape"))


def _day(run: RanRecord) -> date | None:
    """The day as the record says it; None where it says none that can be read."""
    try:
        return date.fromisoformat(run.date[:10]) if run.date else None
    except ValueError:
        return None
