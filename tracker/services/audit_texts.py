"""Whether the texts in the record's folder are those that were checked in."""

from collections.abc import Iterable, Iterator, Sequence
from collections.abc import Set as AbstractSet

from tracker.errors import BadCall
from tracker.records.events import FileOf, RevisionRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.audit_clean import CleanNames
from tracker.services.call_lookup import ProgramIndex
from tracker.services.changed import CHANGED, NEW, ChangedOperation, look_at_job
from tracker.services.checkin_plan import Planner
from tracker.services.desk import Desk
from tracker.services.ports import Tree
from tracker.services.ports_audit import Evidence
from tracker.services.problem import REFUSE, WARN, Looked, Problem
from tracker.services.shelves import Shelves

_NAMES = {NEW: "never-checked-in", CHANGED: "not-checked-in"}


def texts_recorded(ledger: Ledger, evidence: Evidence, names: CleanNames, before: AbstractSet[str]) -> Looked:
    """Texts of revisions that the state the revision was made in does not hold.

    Args:
        ledger: every record.
        evidence: the whole history.
        names: of its jobs (`tracker.services.audit_clean`).
        before: names of jobs found without a fault before, under the same rules.
    """
    texts = texts_of(ledger)
    jobs = {(stored.record.job or "").casefold() for stored, _ in texts}
    name_of = {job: names.recorded(job) for job in jobs}
    asked = [one for one in texts if name_of[(one[0].record.job or "").casefold()] not in before]
    found = evidence.digests([(stored.text_commit, file.path) for stored, file in asked])
    held = set(name_of.values())
    problems: list[Problem] = []
    for (stored, file), digest in zip(asked, found, strict=True):
        if digest == file.raw_sha256:
            continue
        held.discard(name_of[(stored.record.job or "").casefold()])
        there = "another text" if digest else "no such file"
        message = f"the state it was made in holds {there} as {file.path}"
        problems.append(
            Problem(problem="text-not-recorded", severity=REFUSE, where=stored.path, message=message)
        )
    return Looked(problems=tuple(problems), held=frozenset(held))


def texts_of(ledger: Ledger) -> list[tuple[Stored, FileOf]]:
    """Every text of every revision."""
    return [
        (stored, file)
        for stored in ledger.records
        if isinstance(stored.record, RevisionRecord)
        for file in stored.record.files
    ]


def texts_merged(ledger: Ledger, evidence: Evidence) -> Iterator[Problem]:
    """Programs a merge made out of two edits, unless that very text was checked in afterwards."""
    merged = [one for one in evidence.merged_texts() if not one.path.endswith(".toml")]
    known = {(file.path, file.raw_sha256) for _, file in texts_of(ledger)}
    digests = evidence.digests([(one.commit, one.path) for one in merged])
    for one, digest in zip(merged, digests, strict=True):
        if (one.path, digest) not in known:
            message = f"two edits were brought together at {one.commit[:12]} into a text nobody checked in"
            yield Problem(problem="merged-text", severity=WARN, where=one.path, message=message)


def texts_in_hand(desk: Desk, shelves: Shelves, names: CleanNames, job_paths: Sequence[str]) -> Looked:
    """Operations of these jobs whose text in the record's folder is not that of their newest revision."""
    tree, ledger = desk.repo.tree(), shelves.ledger
    planner = Planner(desk.repo, ledger.shop, ledger, tree, tree, shelves=shelves)
    index = ProgramIndex(tree, kept=desk.repo.program_facts())
    problems: list[Problem] = []
    held: set[str] = set()
    for job_path in job_paths:
        number = _number(tree, job_path)
        said = len(planner.problems)
        changes = look_at_job(planner, job_path, index)
        problems += _changed(changes)
        if number is not None and not changes and len(planner.problems) == said:
            held |= {names.in_hand(job_path, number), names.noted(job_path, number)}
    for words in planner.problems:
        where, _, message = words.partition(": ")
        problems.append(Problem(problem="wrong-file", severity=WARN, where=where, message=message))
    return Looked(problems=tuple(problems), held=frozenset(held))


def _number(tree: Tree, job_path: str) -> str | None:
    """The number of a job that may be noted; None for one that is looked at each time."""
    try:
        job = tree.job(job_path)
    except BadCall:  # told where it is looked at
        return None
    return job.number if CleanNames.apart(job_path, job) else None


def _changed(changes: Iterable[ChangedOperation]) -> Iterator[Problem]:
    for change in changes:
        name = _NAMES.get(change.state, "two-revisions")
        target = f"{change.job.number}/{change.operation.id}"
        if name == "two-revisions":
            message = f"{target} was checked in twice side by side; the next check-in follows both"
        elif name == "never-checked-in":
            message = f"{target} was never checked in"
        else:
            message = f"{target}: changed since its newest revision, and not checked in"
        for path in change.files if name == "not-checked-in" else (change.job_path,):
            yield Problem(problem=name, severity=WARN, where=path, message=message)
