"""The parts an audit falls into, none of which asks anything of another: they may be done in processes of their own.

Jobs are looked at in lots: whatever is of one job stays together, for one text is checked once however many releases
of the job hold it.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from functools import partial
from typing import TypeVar

from tracker.policy.at_run import Entered
from tracker.policy.find import newest_of
from tracker.policy.gate import release_name
from tracker.records.stored import Ledger
from tracker.services.audit_clean import CleanNames
from tracker.services.audit_runs import Runs, audit_runs, runs_by_job
from tracker.services.audit_tags import not_derived
from tracker.services.audit_texts import texts_in_hand, texts_recorded
from tracker.services.desk import Desk
from tracker.services.judged_again import looked_into
from tracker.services.ports import TagSeen
from tracker.services.ports_audit import Evidence
from tracker.services.problem import Looked, Problem
from tracker.services.released import Releases
from tracker.services.revision_text import job_path_of
from tracker.services.shelves import Shelves

_LOTS = 48
"""So many that the last one leaves nobody idle for long, and so few that each pays for what it begins with."""
_FEWEST = 8
"""Jobs in a lot, at least."""
T = TypeVar("T")
Part = Callable[[], Looked]


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What is audited: ``before`` the names of all that held before under the same rules, ``shop`` the bytes of shop.toml.

    ``integrity``: neither checks nor runs are asked about.
    """

    desk: Desk
    ledger: Ledger
    evidence: Evidence
    before: AbstractSet[str]
    shop: bytes
    integrity: bool = False


def parts(subject: Subject, releases: Releases, tags: Sequence[TagSeen]) -> list[Part]:
    """Releases derived again, runs judged, texts held against the record; ``tags``: those to derive."""
    runs = () if subject.integrity else _runs(subject)
    return [*_jobs(subject, releases, tags), *runs]


@dataclass(frozen=True, slots=True)
class _Job:
    """What is to be looked at of one job: its release tags, and where its job.toml lies in hand."""

    tags: list[TagSeen] = field(default_factory=list)
    paths: list[str] = field(default_factory=list)


def _jobs(subject: Subject, releases: Releases, tags: Sequence[TagSeen]) -> Iterator[Part]:
    """Jobs: what held before not once more. A text in hand mostly is one that was released, and is read once here."""
    names = CleanNames(subject.ledger, subject.evidence.files())
    paths = sorted(set(subject.desk.repo.tree().job_paths().values()))
    clean = {path: held for path in paths if (held := names.known(path, subject.before))}
    known = {tag.object_id for tag in tags} & subject.before
    yield lambda: Looked(held=frozenset(known).union(*clean.values()))
    yield partial(texts_recorded, subject.ledger, subject.evidence, names, subject.before)
    jobs: defaultdict[str, _Job] = defaultdict(_Job)
    for tag in tags:
        if tag.object_id not in known:
            name = release_name(tag.ref)
            jobs[name.job.casefold() if name is not None else ""].tags.append(tag)
    for path in paths:
        if path not in clean:
            jobs[path.split("/")[1].casefold()].paths.append(path)
    in_hand = _InHand(subject, names)
    for lot in _lots(list(jobs.values())):
        yield partial(_looked_at, releases, in_hand, lot, checks=not subject.integrity)


def _looked_at(releases: Releases, in_hand: "_InHand", lot: Sequence[_Job], *, checks: bool) -> Looked:
    found = (
        _derived(releases, [tag for job in lot for tag in job.tags], checks=checks),
        in_hand.look([path for job in lot for path in job.paths]),
    )
    return Looked(
        problems=tuple(problem for one in found for problem in one.problems),
        held=frozenset().union(*(one.held for one in found)),
    )


def _derived(releases: Releases, tags: Sequence[TagSeen], *, checks: bool) -> Looked:
    releases.look_ahead(tags)
    derive = looked_into(releases.derive) if checks else releases.derive
    problems: list[Problem] = []
    held: set[str] = set()
    for tag in tags:
        found = derive(tag)
        problems += not_derived(found)
        if found.holds:
            held.add(tag.object_id)
    return Looked(problems=tuple(problems), held=frozenset(held))


def _runs(subject: Subject) -> Iterator[Part]:
    """Runs of jobs; a job without a run of what was not usable is not looked at once more."""
    jobs = list(runs_by_job(subject.ledger, subject.shop))
    known = {name for name, _ in jobs} & subject.before
    yield lambda: Looked(held=frozenset(known))
    entered = Entered(subject.ledger)
    for lot in _lots([one for one in jobs if one[0] not in known]):
        yield partial(_ran, subject.ledger, entered, lot)


def _ran(ledger: Ledger, entered: Entered, jobs: Sequence[tuple[str, Runs]]) -> Looked:
    found = {name: tuple(audit_runs(ledger, runs, entered)) for name, runs in jobs}
    return Looked(
        problems=tuple(problem for problems in found.values() for problem in problems),
        held=frozenset(name for name, problems in found.items() if not problems),
    )


class _InHand:
    """The texts in hand of jobs, held against the record."""

    def __init__(self, subject: Subject, names: CleanNames) -> None:
        self._desk = subject.desk
        self._names = names
        self._shelves = Shelves(subject.ledger)
        self._shelves.sorted()  # before there are processes that would each do it
        self._checked_in: dict[str, list[str]] = {}
        for stored in newest_of(subject.ledger):
            self._checked_in.setdefault(job_path_of(stored), []).append(stored.commit)

    def look(self, paths: Sequence[str]) -> Looked:
        """Those of the jobs whose job.toml lies there."""
        self._desk.repo.look_ahead(
            [(commit, path) for path in paths for commit in self._checked_in.get(path, ())]
        )
        return texts_in_hand(self._desk, self._shelves, self._names, paths)


def _lots(items: Sequence[T]) -> Iterator[Sequence[T]]:
    size = max(_FEWEST, -(-len(items) // _LOTS))
    for start in range(0, len(items), size):
        yield items[start : start + size]
