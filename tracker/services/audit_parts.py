"""The parts an audit falls into, none of which asks anything of another: they may be done in processes of their own.

Jobs are looked at in lots: whatever is of one job stays together, for one text is checked once however many releases
of the job hold it.
"""

from collections.abc import Callable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from functools import partial
from typing import TypeVar

from tracker.policy.find import newest_of
from tracker.policy.gate import release_name
from tracker.policy.standing import ByJob, records_by_job
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
    return [*_releases(subject, releases, tags), *runs, *_texts(subject)]


def _releases(subject: Subject, releases: Releases, tags: Sequence[TagSeen]) -> Iterator[Part]:
    """Releases, those that held before not once more."""
    known = {tag.object_id for tag in tags} & subject.before
    yield lambda: Looked(held=frozenset(known))
    of_job: dict[str, list[TagSeen]] = {}
    for tag in tags:
        if tag.object_id not in known:
            name = release_name(tag.ref)
            of_job.setdefault(name.job.casefold() if name is not None else "", []).append(tag)
    for lot in _lots(list(of_job.values())):
        yield partial(_derived, releases, [tag for job in lot for tag in job], checks=not subject.integrity)


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
    by_job = records_by_job(subject.ledger)
    for lot in _lots([one for one in jobs if one[0] not in known]):
        yield partial(_ran, subject.ledger, by_job, lot)


def _ran(ledger: Ledger, by_job: ByJob, jobs: Sequence[tuple[str, Runs]]) -> Looked:
    found = {name: tuple(audit_runs(ledger, runs, by_job)) for name, runs in jobs}
    return Looked(
        problems=tuple(problem for problems in found.values() for problem in problems),
        held=frozenset(name for name, problems in found.items() if not problems),
    )


def _texts(subject: Subject) -> Iterator[Part]:
    """The texts of revisions, and those in hand of every job."""
    names = CleanNames(subject.ledger, subject.evidence.files())
    yield partial(texts_recorded, subject.ledger, subject.evidence, names, subject.before)
    paths = sorted(set(subject.desk.repo.tree().job_paths().values()))
    known = {path: held for path in paths if (held := names.known(path, subject.before))}
    yield lambda: Looked(held=frozenset().union(*known.values()))
    checked_in: dict[str, list[str]] = {}
    for stored in newest_of(subject.ledger):
        checked_in.setdefault(job_path_of(stored), []).append(stored.commit)
    shelves = Shelves(subject.ledger)
    shelves.sorted()
    for lot in _lots([path for path in paths if path not in known]):
        places = [(commit, path) for path in lot for commit in checked_in.get(path, ())]
        yield partial(_in_hand, subject, shelves, names, lot, places)


def _in_hand(
    subject: Subject,
    shelves: Shelves,
    names: CleanNames,
    lot: Sequence[str],
    places: Sequence[tuple[str, str]],
) -> Looked:
    """``places``: where their sheets lie as they were checked in last."""
    subject.desk.repo.look_ahead(places)
    return texts_in_hand(subject.desk, shelves, names, lot)


def _lots(items: Sequence[T]) -> Iterator[Sequence[T]]:
    size = max(_FEWEST, -(-len(items) // _LOTS))
    for start in range(0, len(items), size):
        yield items[start : start + size]
