"""``adopt --apply PLAN``: take in what a plan says yes to, as first revisions, in one commit.

1. Every row is looked at against the files as they lie there now; whatever is wrong with the plan is said at once, and
   nothing is written.
2. Files that are to move are copied, each operation's sheet is drafted (`drafting`), and one job.toml a job is written.
   Nothing is written over; what a run before wrote is found to be there.
3. One check-in records all of it. A run that was killed is run again: what is recorded already has nothing to do.
"""

import posixpath
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress

from tracker.digest import sha256_of
from tracker.errors import BadCall, ProveoutError
from tracker.frozen import dataclass, replace
from tracker.policy.days import local_date, zone_of
from tracker.policy.may import may, require
from tracker.policy.paper import says_where
from tracker.records.draft import DraftOperation
from tracker.records.events import ProofRecord
from tracker.records.ids import is_id
from tracker.records.job import Job
from tracker.records.shop import Machine, Shop
from tracker.records.template_draft import drafted_job
from tracker.services.adopt_history import HistoryReport, adopt_history
from tracker.services.adopt_plan import CALLED, OPEN, YES, PlanRow
from tracker.services.call_lookup import numbers_of
from tracker.services.checkin import CheckInReport, check_in
from tracker.services.day_said import day_said
from tracker.services.desk import Desk, acting
from tracker.services.drafting import Drawn, draw, job_of
from tracker.services.naming import Named
from tracker.services.paths import name_of
from tracker.services.ports import NewFile, Tree
from tracker.services.ports_new import Drawer
from tracker.services.ports_past import Past
from tracker.services.progress import Tell, quiet, told
from tracker.services.prove import begin
from tracker.services.prove_prior import Paper, prove_prior
from tracker.services.recording import attached_head, reason_text

Read = Callable[[str], bytes]
"""Bytes of a file as the plan names it; raises BadCall or CouldNot."""
_MOST_REASONS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class AppliedReport:
    """What was taken in.

    ``taken`` operations, as ``job/operation``; ``already`` those that were recorded before; ``open`` rows that still say
    ``?``; ``on_paper`` those a proof kept on paper was put down for; ``written`` new files; ``checked_in`` what the check-in says, None where there was nothing to do;
    ``history`` what was taken over from before the record, None where that was not asked for.
    """

    taken: tuple[str, ...]
    already: tuple[str, ...]
    on_paper: tuple[str, ...]
    open: int
    written: tuple[str, ...]
    checked_in: CheckInReport | None
    history: HistoryReport | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _File:
    """A row with its bytes, where it will lie in the repository, and whether it has to be copied there."""

    row: PlanRow
    data: bytes
    path: str
    copied: bool


def apply_plan(
    desk: Desk,
    drawer: Drawer,
    rows: Sequence[PlanRow],
    plan: str,
    read: Read,
    *,
    by: str | None,
    reason: str | None,
    past: Past | None = None,
    tell: Tell = quiet,
) -> AppliedReport:
    """Take the plan in.

    Args:
        desk: where from.
        drawer: puts files down.
        rows: the plan.
        plan: its name, for messages.
        read: reads a file the plan names.
        by: whose programs they are; None: the person git knows.
        reason: why, in a sentence.
        past: the history to take over first, as `adopt_history` does; None: from today.
        tell: told how far it is.

    Raises:
        BadCall: ``plan-wrong`` with everything that is wrong with it, ``file-exists``, and as `check_in` does.
        Refused: as `check_in` does.
    """
    tree = desk.repo.work_tree()
    shop = tree.shop()
    _may(desk, shop, by, reason)
    problems: list[str] = []
    files = _files(desk, tree, drawer, shop, rows, read, problems, tell)
    jobs = _by_job(files)
    there = {job: tree.job_paths().get(job.lower()) for job in jobs}
    called = _called(files)
    drafts = {
        job: _draft(shop, job, mains, called)
        for job, mains in told(list(jobs.items()), "drafting setup sheets", tell)
    }
    new = [NewFile(path=one.path, data=one.data) for one in files if one.copied]
    for job, text in drafts.items():
        path = there[job] or f"jobs/{job}/job.toml"
        if there[job] is None or tree.read(path) == text:
            new.append(NewFile(path=path, data=text))
        else:
            problems += _not_in(tree, path, jobs[job])
    if problems:
        raise _wrong(plan, problems)
    _may_sign(desk, shop, rows)
    written = [file for file in new if tree.read(file.path) is None]
    drawer.put(new)
    named = [Named(job=one.row.job, operation=one.row.operation) for mains in jobs.values() for one in mains]
    with _all_or_nothing(desk, drawer, written):
        old = adopt_history(desk, past, named, by=by, reason=reason, tell=tell) if past and named else None
        done = check_in(desk, named, by=by, reason=reason, tell=tell) if named else None
    taken = [f"{one.record.job}/{one.record.operation}" for one in done.checked_in] if done else []
    new_ones = {one.lower() for one in taken}
    every = [f"{one.job}/{one.operation}" for one in named]
    return AppliedReport(
        taken=tuple(taken),
        already=tuple(one for one in every if one.lower() not in new_ones),
        on_paper=_on_paper(desk, rows, tell),
        open=sum(1 for row in rows if row.take == OPEN),
        written=tuple(file.path for file in written),
        checked_in=done,
        history=old,
    )


def _may(desk: Desk, shop: Shop, by: str | None, reason: str | None) -> None:
    """Raise what the check-in at the end would raise, before a file is written."""
    attached_head(desk)
    require(shop, acting(desk, shop, by), "checkin", desk.clock.now())
    reason_text(reason, "why are they taken in?")


def _may_sign(desk: Desk, shop: Shop, rows: Sequence[PlanRow]) -> None:
    """Raise what signing a proof kept on paper would be refused for, before a file is written."""
    if desk.signer is None:
        return
    signer = desk.signer()
    there = {
        (stored.record.job or "").lower() + "/" + (stored.record.operation or "").lower()
        for stored in desk.repo.ledger().records
        if isinstance(stored.record, ProofRecord)
    }
    new = [row for row in rows if f"{row.job}/{row.operation}".lower() not in there]
    for who in dict.fromkeys(row.prior_by for row in new if row.take == YES and row.prior_by):
        try:
            signer.ready(who, shop)
        except ProveoutError as fault:
            left = f"with prior_by, prior_evidence and last_run of {who} left empty the programs come in"
            fault.reasons += (f"nothing was written; {left}, and {who} enters the paper: prove --prior",)
            raise


def _files(
    desk: Desk,
    tree: Tree,
    drawer: Drawer,
    shop: Shop,
    rows: Sequence[PlanRow],
    read: Read,
    problems: list[str],
    tell: Tell,
) -> list[_File]:
    """Every row that is taken, with its bytes; what is wrong with a row goes to ``problems``."""
    found: list[_File] = []
    seen: dict[tuple[str, str], int] = {}
    for row in told([row for row in rows if row.take in (YES, CALLED)], "reading the files", tell):
        wrong = [*_row_problems(shop, row), *_paper_problems(desk, shop, row)]
        key = (row.job.lower(), row.operation.lower())
        if row.take == YES and key in seen:
            wrong.append(f"{row.job}/{row.operation} stands in line {seen[key]} too")
        seen.setdefault(key, row.line)
        data = b""
        try:
            data = read(row.file)
        except ProveoutError as fault:
            wrong.append(f"{row.file}: {fault.what}")
        if not wrong and row.sha256 and sha256_of(data) != row.sha256.lower():
            wrong.append(f"{row.file} was changed since the plan was made; look through it again")
        problems += [f"line {row.line}: {one}" for one in wrong]
        if not wrong:
            found.append(_placed(tree, drawer, row, data))
    return found


def _row_problems(shop: Shop, row: PlanRow) -> Iterable[str]:
    if row.take == YES and not is_id(row.job):
        yield f"{row.job!r} cannot be a job"
    if row.take == YES and not is_id(row.operation):
        yield f"{row.operation!r} cannot be an operation"
    if row.machine and shop.machine(row.machine) is None:
        yield f"there is no machine {row.machine!r} in shop.toml"
    if row.to and (row.to.startswith(("/", "\\")) or ".." in row.to.split("/") or ":" in row.to):
        yield f"{row.to!r} does not lie in this repository"


def _paper_problems(desk: Desk, shop: Shop, row: PlanRow) -> Iterable[str]:
    """What is wrong with a proof kept on paper that a row names."""
    if not (row.prior_by or row.prior_evidence or row.last_run):
        return
    if row.take != YES:
        yield "a proof kept on paper goes with a main program"
    if not row.prior_by or not row.prior_evidence:
        yield "a proof kept on paper needs prior_by and prior_evidence: who vouches for it, and where the paper lies"
    if row.prior_evidence and not says_where(row.prior_evidence):
        yield f"{row.prior_evidence!r} does not say where the paper lies"
    vouches = shop.person(row.prior_by) if row.prior_by else None
    if row.prior_by and vouches is None:
        yield f"nobody in shop.toml has the initials {row.prior_by!r}"
    elif vouches is not None and (why_not := may(shop, vouches, "prove", desk.clock.now())):
        yield f"prior_by: {why_not}"
    if not row.machine:
        yield "a proof kept on paper needs the machine it was made on"
    until, today = shop.policy.prior_until, local_date(desk.clock.now(), zone_of(shop))
    if until is None or today > until:
        yield "this shop takes no proofs kept on paper in now: prior_until in [policy] of shop.toml"
    if row.last_run:
        try:
            if day_said(row.last_run) > today:
                yield f"last_run: {row.last_run} has not come yet"
        except BadCall as fault:
            yield fault.what


def _on_paper(desk: Desk, rows: Sequence[PlanRow], tell: Tell) -> tuple[str, ...]:
    """Put down the proofs kept on paper that rows name; operations that have one now and had none."""
    vouched = [row for row in rows if row.take == YES and row.prior_by]
    new = [row for row in told(vouched, "proofs kept on paper", tell) if _vouched(desk, row)]
    return tuple(f"{row.job}/{row.operation}" for row in new)


def _vouched(desk: Desk, row: PlanRow) -> bool:
    """Put the proof of a row down, unless one is there already."""
    named = Named(job=row.job, operation=row.operation.lower())
    here = begin(desk, named, machine=row.machine, by=row.prior_by)
    if here.standing.base is not None and isinstance(here.standing.base.record, ProofRecord):
        return False
    paper = Paper(evidence=row.prior_evidence, last_run=row.last_run or None)
    prove_prior(desk, named, paper, machine=row.machine, by=row.prior_by)
    return True


def _placed(tree: Tree, drawer: Drawer, row: PlanRow, data: bytes) -> _File:
    """Where a program will lie: where it is, or copied if it lies outside, or where git keeps nothing of it."""
    here = drawer.place_of(row.file)
    if here is not None and tree.has(here) and not row.to:
        return _File(row=row, data=data, path=here, copied=False)
    to = row.to.strip("/") or (f"jobs/{row.job}/{row.operation}" if row.take == YES else "common")
    return _File(row=row, data=data, path=f"{to}/{name_of(row.file.replace(chr(92), '/'))}", copied=True)


def _by_job(files: Sequence[_File]) -> dict[str, list[_File]]:
    """Main programs by job, in the order of the plan; a job is one however it is spelled."""
    found: dict[str, list[_File]] = {}
    spelled: dict[str, str] = {}
    for one in files:
        if one.row.take == YES:
            job = spelled.setdefault(one.row.job.lower(), one.row.job)
            found.setdefault(job, []).append(one)
    return found


def _draft(shop: Shop, job: str, mains: Sequence[_File], called: Mapping[int, bytes]) -> bytes:
    drawn: list[Drawn] = []
    operations: list[DraftOperation] = []
    for one in mains:
        machine = _machine(shop, one.row)
        made = draw(name_of(one.path), one.data, machine=machine, called=called.get)
        program = posixpath.relpath(one.path, f"jobs/{job}")
        drawn.append(made)
        operations.append(replace(made.operation, id=one.row.operation, program=program))
    return drafted_job(job_of(job, drawn, operations)).encode("utf-8")


def _machine(shop: Shop, row: PlanRow) -> Machine | None:
    return shop.machine(row.machine) if row.machine else None


def _called(files: Sequence[_File]) -> Mapping[int, bytes]:
    """Called programs by number; a number two of them answer to is left out."""
    found: dict[int, bytes | None] = {}
    for one in files:
        if one.row.take == CALLED:
            for number in numbers_of(one.path, one.data):
                found[number] = None if number in found and found[number] != one.data else one.data
    return {number: data for number, data in found.items() if data is not None}


def _not_in(tree: Tree, path: str, mains: Sequence[_File]) -> Iterable[str]:
    """What is wrong where a job has a job.toml of its own: operations it does not know yet."""
    job: Job = tree.job(path)
    known = {operation.id.lower() for operation in job.operations}
    for one in mains:
        if one.row.operation.lower() not in known:
            yield (
                f"line {one.row.line}: job {job.number} has a job.toml already, without {one.row.operation}; "
                f"add it with proveout new {job.number}/{one.row.operation} {one.row.file}"
            )


@contextmanager
def _all_or_nothing(desk: Desk, drawer: Drawer, written: Sequence[NewFile]) -> Iterator[None]:
    """What was put down for a check-in that fails goes again, unless it is recorded after all."""
    try:
        yield
    except BaseException:
        with suppress(ProveoutError):  # what the record holds cannot be told: then nothing is taken away
            recorded = desk.repo.tree()
            drawer.take_back([file for file in written if recorded.read(file.path) is None])
        raise


def _wrong(plan: str, problems: Sequence[str]) -> BadCall:
    shown = list(problems[:_MOST_REASONS])
    if len(problems) > _MOST_REASONS:
        shown.append(f"and {len(problems) - _MOST_REASONS} more")
    return BadCall(
        "plan-wrong",
        shown[0].partition(": ")[2]
        if len(problems) == 1
        else f"{len(problems)} things in the plan are wrong",
        where=f"{plan}:{shown[0].partition(': ')[0].removeprefix('line ')}",
        fix="put the rows right, or write no into their column take; nothing was written",
        reasons=tuple(shown) if len(problems) > 1 else (),
    )
