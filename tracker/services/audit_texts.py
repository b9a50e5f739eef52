"""Whether the texts in the record's folder are those that were checked in."""

from collections.abc import Iterable, Iterator
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

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
from tracker.services.problem import REFUSE, WARN, Problem

_NAMES = {NEW: "never-checked-in", CHANGED: "not-checked-in"}


@dataclass(frozen=True, slots=True, kw_only=True)
class TextsAudited:
    """The problems, and how many texts of revisions were held against the states they were made in."""

    problems: tuple[Problem, ...]
    checked: int


def audit_texts(
    desk: Desk, ledger: Ledger, evidence: Evidence, before: AbstractSet[str], held: set[str]
) -> TextsAudited:
    """Everything about programs and setup sheets that does not hold.

    Args:
        desk: its repository.
        ledger: every record.
        evidence: the whole history.
        before: names of jobs found without a fault before, under the same rules (`tracker.services.audit_clean`).
        held: where those found so now are added.
    """
    texts = [
        (stored, file)
        for stored in ledger.records
        if isinstance(stored.record, RevisionRecord)
        for file in stored.record.files
    ]
    names = CleanNames(ledger, evidence.files())
    problems = [
        *_recorded(texts, evidence, names, before, held),
        *_merged(ledger, evidence),
        *_not_checked_in(desk, ledger, names, before, held),
    ]
    return TextsAudited(problems=tuple(problems), checked=len(texts))


def _recorded(
    texts: list[tuple[Stored, FileOf]],
    evidence: Evidence,
    names: CleanNames,
    before: AbstractSet[str],
    held: set[str],
) -> Iterator[Problem]:
    """Texts of revisions that the state the revision was made in does not hold."""
    jobs = {(stored.record.job or "").casefold() for stored, _ in texts}
    name_of = {job: names.recorded(job) for job in jobs}
    asked = [one for one in texts if name_of[(one[0].record.job or "").casefold()] not in before]
    found = evidence.digests([(stored.text_commit, file.path) for stored, file in asked])
    held |= set(name_of.values())
    for (stored, file), digest in zip(asked, found, strict=True):
        if digest == file.raw_sha256:
            continue
        held.discard(name_of[(stored.record.job or "").casefold()])
        there = "another text" if digest else "no such file"
        yield Problem(
            problem="text-not-recorded",
            severity=REFUSE,
            where=stored.path,
            message=f"the state it was made in holds {there} as {file.path}",
        )


def _merged(ledger: Ledger, evidence: Evidence) -> Iterable[Problem]:
    """Programs a merge made out of two edits, unless that very text was checked in afterwards."""
    merged = [one for one in evidence.merged_texts() if not one.path.endswith(".toml")]
    known = {
        (file.path, file.raw_sha256)
        for stored in ledger.records
        if isinstance(stored.record, RevisionRecord)
        for file in stored.record.files
    }
    digests = evidence.digests([(one.commit, one.path) for one in merged])
    for one, digest in zip(merged, digests, strict=True):
        if (one.path, digest) not in known:
            message = f"two edits were brought together at {one.commit[:12]} into a text nobody checked in"
            yield Problem(problem="merged-text", severity=WARN, where=one.path, message=message)


def _not_checked_in(
    desk: Desk, ledger: Ledger, names: CleanNames, before: AbstractSet[str], held: set[str]
) -> Iterator[Problem]:
    """Operations whose text in the record's folder is not that of their newest revision."""
    tree = desk.repo.tree()
    planner = Planner(desk.repo, ledger.shop, ledger, tree, tree)
    index = ProgramIndex(tree, kept=desk.repo.program_facts())
    for job_path in sorted(set(tree.job_paths().values())):
        number = names.number(job_path, before)
        if number is None:
            number = _number(tree, job_path)
        name = None if number is None else names.in_hand(job_path, number)
        if name is None or name not in before:
            said = len(planner.problems)
            changes = look_at_job(planner, job_path, index)
            yield from _changed(changes)
            if changes or len(planner.problems) > said:
                continue
        if number is not None and name is not None:
            held |= {name, names.noted(job_path, number)}
    for words in planner.problems:
        where, _, message = words.partition(": ")
        yield Problem(problem="wrong-file", severity=WARN, where=where, message=message)


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
