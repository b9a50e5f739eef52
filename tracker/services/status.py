"""``status``: how every operation stands on every machine today, and what may run.

A row an operation and machine, of the newest revision; two rows where two clones checked in side by side. With
``may_run`` the rows are of the released revisions, those only that may run today. A revision that is recorded is
judged; edits in the working folder are mentioned, never judged.
"""

from dataclasses import dataclass, replace
from datetime import datetime

from tracker.errors import BadCall
from tracker.policy.deviations import Deviation, shown
from tracker.policy.find import same_name
from tracker.policy.states import PRECEDENCE
from tracker.services.board_kept import whole_board
from tracker.services.desk import Desk
from tracker.services.last_share import LastShare, last_share_of
from tracker.services.locate import find_job
from tracker.services.machine_named import machine_named
from tracker.services.ports_kept import KeptAnswers
from tracker.services.status_look import Look, StatusRow


@dataclass(frozen=True, slots=True, kw_only=True)
class StatusReport:
    """The rows, and what else is to be said.

    ``edited``: own files of operations that differ from what is recorded; ``left_out`` (with ``may_run``): what is
    for the machine and may not run, in words; ``standings``: what it was narrowed to; ``problems``: files that cannot be read; ``deviations``: those that are
    not over and countersigned, of every machine and job, whatever was asked for; ``signs``: somebody in the shop signs;
    ``last_share``: how old what others said is.
    """

    rows: tuple[StatusRow, ...]
    now: datetime
    timezone: str
    may_run: bool = False
    machine: str | None = None
    standings: tuple[str, ...] = ()
    edited: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    unreadable: tuple[str, ...] = ()
    deviations: tuple[Deviation, ...] = ()
    signs: bool = False
    last_share: LastShare | None = None


def status(
    desk: Desk,
    *,
    may_run: bool = False,
    machine: str | None = None,
    job: str | None = None,
    standing: str | None = None,
) -> StatusReport:
    """The board of today.

    Args:
        desk: whose repository and clock.
        may_run: only what may run, of the released revisions.
        machine: only this machine.
        job: only this job.
        standing: only what stands so; several with commas.

    Raises:
        BadCall: ``unknown-machine``, ``unknown-job``, ``unknown-standing``, the job.toml of a job that was named.
        CouldNot: no repository, no shop, a shallow clone.
    """
    wanted = standings_named(standing) if standing is not None else ()
    report = _of_all(desk, may_run=may_run, machine=machine, job=job)
    if not wanted:
        return report
    return replace(report, standings=wanted, rows=tuple(row for row in report.rows if row.state in wanted))


def standings_named(text: str) -> tuple[str, ...]:
    """The standings of ``held,rejected``, letter case aside; raises BadCall (``unknown-standing``)."""
    found = tuple(dict.fromkeys(word.strip().casefold() for word in text.split(",")))
    for word in found:
        if word not in PRECEDENCE:
            known = ", ".join(PRECEDENCE)
            raise BadCall(
                "unknown-standing", f"there is no standing {word!r}", fix=f"one or several of {known}"
            )
    return found


def _of_all(desk: Desk, *, may_run: bool, machine: str | None, job: str | None) -> StatusReport:
    if desk.kept is not None and not may_run:
        return _shown(desk, desk.kept, machine, job)
    look = Look.at(desk)
    ledger, now = look.ledger, desk.clock.now()
    wanted = machine_named(ledger.shop, machine).id if machine is not None else None
    jobs = look.jobs(job)
    left_out: list[str] = []
    rows = look.runnable(jobs, wanted, left_out) if may_run else look.rows(jobs)
    kept = tuple(row for row in rows if wanted is None or same_name(row.machine, wanted))
    return StatusReport(
        rows=kept,
        now=now,
        timezone=ledger.shop.timezone,
        may_run=may_run,
        machine=wanted,
        edited=look.edited(jobs),
        left_out=tuple(left_out),
        problems=tuple(look.problems),
        unreadable=tuple(f"{bad.path}: {bad.why}" for bad in ledger.unreadable),
        deviations=shown(ledger, now),
        signs=look.seals.anybody,
        last_share=last_share_of(desk),
    )


def _shown(desk: Desk, kept: KeptAnswers, machine: str | None, job: str | None) -> StatusReport:
    """The same report from the board that is kept; what is edited is looked up each time."""
    board = whole_board(desk, kept)
    tree = desk.repo.tree()
    shop, now = tree.shop(), desk.clock.now()
    wanted = machine_named(shop, machine).id if machine is not None else None
    jobs, problems = board.jobs, board.problems
    if job is not None:
        number = tree.job(find_job(tree, job)).number
        jobs, problems = tuple(one for one in jobs if one.job == number), ()
    rows = (row for one in jobs for row in one.rows)
    return StatusReport(
        rows=tuple(row for row in rows if wanted is None or same_name(row.machine, wanted)),
        now=now,
        timezone=shop.timezone,
        machine=wanted,
        edited=tuple(desk.repo.uncommitted(sorted({path for one in jobs for path in one.own}))),
        problems=problems,
        unreadable=board.unreadable,
        deviations=shown(desk.repo.ledger(), now) if board.deviations else (),
        signs=board.signs,
        last_share=last_share_of(desk),
    )
