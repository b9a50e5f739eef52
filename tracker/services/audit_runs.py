"""Runs of what could not be used on that machine when it ran: they are kept, renew nothing, and are told here.

When that was says `tracker.policy.at_run`; it is what `ran` itself says as it puts a run down.

What is found of a job hangs on its own records and those of no job, on the states they came in with (whose ids stand for
all they follow) and on shop.toml. The SHA-256 of all these names a job without such a run for the next audit.
"""

from collections.abc import Iterator, Sequence

from tracker.digest import sha256_of
from tracker.policy.at_run import Entered, RunJudges
from tracker.policy.find import by_name, label
from tracker.policy.standing import Judge
from tracker.policy.strikes import struck
from tracker.records.events import RanRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.problem import WARN, Problem

Runs = Sequence[tuple[Stored, RanRecord]]
_RULE = "at the run, none struck"
"""What was noted while the end of the day judged is asked about again."""


def audit_runs(ledger: Ledger, runs: Runs, entered: Entered | None = None) -> Iterator[Problem]:
    """Every one of these runs whose revision did not stand on its machine when it ran.

    ``entered``: of the ledger, where runs of many jobs are asked about in turn.
    """
    judges = RunJudges(ledger, entered)
    for stored, run in runs:
        yield from _run(judges.of(stored, run), stored, run)


def _run(judge: Judge, stored: Stored, run: RanRecord) -> Iterator[Problem]:
    # the book of the job, not the ledger of the shop: a run is looked up among its own job's records
    book = judge.book(run.job)
    known = book.ledger
    machine = known.shop.machine(run.machine)
    revision = by_name(known, run.job or "", run.operation or "", run.revision or "")
    if machine is None or revision is None:
        return
    found = judge.standing(revision, machine)
    # one that was put down by mistake has a line through it (`audit --list struck` shows both), whenever that was made
    if not found.usable and stored.path not in book.once(("struck",), lambda: struck(known)):
        what = f"{run.job}/{run.operation} {label(run.revision)} ran on {machine.id}"
        yield Problem(
            problem="ran-not-usable", severity=WARN, where=stored.path, message=f"{what}: {found.reason}"
        )


def runs_by_job(ledger: Ledger, shop: bytes) -> Iterator[tuple[str, Runs]]:
    """The runs in hand of every job, and the name of all they are judged by; ``shop``: the bytes of shop.toml in hand."""
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
        _RULE,
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
