"""What in the working folder is not checked in yet, operation by operation."""

from collections.abc import Sequence
from dataclasses import dataclass

from tracker.errors import BadCall
from tracker.records.job import Job, Operation
from tracker.records.places import SHOP
from tracker.records.stored import Stored
from tracker.services.call_lookup import ProgramIndex
from tracker.services.checkin_plan import Planner
from tracker.services.desk import Desk
from tracker.services.locate import GONE, bring_back
from tracker.services.operation_text import OperationText, operation_text
from tracker.services.revision_text import revision_record

NEW = "new"
CHANGED = "changed"
SIDE_BY_SIDE = "two check-ins side by side"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedOperation:
    """An operation a check-in would make a revision of.

    ``state``: `NEW`, `CHANGED` or `SIDE_BY_SIDE`; ``files`` the programs whose bytes differ, job.toml when its
    tables do.
    """

    job_path: str
    job: Job
    operation: Operation
    text: OperationText
    origins: tuple[Stored, ...]
    state: str
    files: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangesReport:
    """What changed (``shop_changed``: shop.toml too), and what could not be read."""

    changes: tuple[ChangedOperation, ...]
    shop_changed: bool = False
    problems: tuple[str, ...] = ()


def list_changes(desk: Desk) -> ChangesReport:
    """Every operation that changed; raises CouldNot without a repository or a shop."""
    ledger = desk.repo.ledger()
    planner = Planner(desk.repo, ledger.shop, ledger, desk.repo.tree(), desk.repo.work_tree())
    changes = tuple(look_for_changes(planner))
    return ChangesReport(
        changes=changes,
        shop_changed=bool(desk.repo.uncommitted((SHOP,))),
        problems=tuple(planner.problems),
    )


def look_for_changes(planner: Planner) -> list[ChangedOperation]:
    """The same for a planner at hand.

    A job.toml that is wrong or gone, or a program that is missing, goes to its problems and stops nothing.
    """
    index = ProgramIndex(planner.work)
    paths = sorted(set(planner.work.job_paths().values()))
    gone = sorted(set(planner.base.job_paths().values()) - set(paths))
    planner.problems += [f"{path}: {GONE}; {bring_back(path)}" for path in gone]
    return [change for path in paths for change in look_at_job(planner, path, index)]


def look_at_job(planner: Planner, job_path: str, index: ProgramIndex) -> list[ChangedOperation]:
    """The operations of one job that changed; what is wrong with it goes to the planner's problems."""
    found: list[ChangedOperation] = []
    try:
        job = planner.work.job(job_path)
    except BadCall as fault:
        planner.problems.append(_said(fault, job_path))
        return found
    for operation in job.operations:
        try:
            change = look_at(planner, job_path, job, operation, index)
        except BadCall as fault:
            planner.problems.append(_said(fault, job_path))
            continue
        if change is not None:
            found.append(change)
    return found


def look_at(
    planner: Planner, job_path: str, job: Job, operation: Operation, index: ProgramIndex
) -> ChangedOperation | None:
    """Whether one operation changed; raises BadCall when its text cannot be told."""
    text = operation_text(planner.work, job_path, job, operation, planner.shop, index=index)
    origins = planner.newest(job, operation)
    if not planner.differs(text, origins):
        return None
    return ChangedOperation(
        job_path=job_path,
        job=job,
        operation=text.operation,
        text=text,
        origins=origins,
        state=NEW if not origins else CHANGED if len(origins) == 1 else SIDE_BY_SIDE,
        files=_files(text, origins),
    )


def _files(text: OperationText, origins: Sequence[Stored]) -> tuple[str, ...]:
    held = {(file.path, file.raw_sha256) for stored in origins for file in revision_record(stored).files}
    now = {(file.path, file.raw_sha256) for file in text.files}
    paths = [path for path, _ in sorted(now ^ held)] if origins else [file.path for file in text.files]
    return tuple(dict.fromkeys(paths)) or (text.job_path,)


def _said(fault: BadCall, job_path: str) -> str:
    return f"{fault.where or job_path}: {fault.what}" + (f"; {fault.fix}" if fault.fix else "")
