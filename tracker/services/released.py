"""Which release of a job counts: the latest that can be derived again, if it is not withdrawn.

A tag that names no release record of its commit is no release, whatever it is called, and is passed over. A release
that was made and can no longer be derived stands in the way of older ones: an older release never comes back by itself,
neither here nor after a withdrawal.
"""

from collections.abc import Mapping, Sequence

from tracker.errors import CouldNot
from tracker.frozen import dataclass, field, replace
from tracker.policy.book import Entry
from tracker.policy.find import by_name
from tracker.policy.gate import release_name
from tracker.policy.release_rules import Reason
from tracker.policy.standing import Judge
from tracker.policy.stops import withdrawals
from tracker.records.events import FileOf, ReleasedOperation, ReleaseRecord, RevisionRecord
from tracker.records.job import Job
from tracker.records.places import SHOP
from tracker.records.shop import Machine
from tracker.records.stored import Ledger, Stored
from tracker.services.operation_text import OperationText
from tracker.services.paths import folder_of
from tracker.services.ports import Repository, TagSeen
from tracker.services.rederive import Derived, rederive
from tracker.services.revision_text import job_path_of


@dataclass(frozen=True, slots=True, kw_only=True)
class InRelease:
    """An operation as a release holds it; ``withdrawn`` why it is recalled, in words, or None.

    ``texts``: its programs by path, as they were read to derive it.
    """

    operation: ReleasedOperation
    revision: Stored
    withdrawn: str | None = None
    texts: Mapping[str, FileOf] = field(default_factory=dict, repr=False, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What the records let expect of a machine's programs; nothing but time may hang on it.

    ``programs``: the job each is of, and the program as its revision record has it, once for every operation that
    uses it. ``size``: bytes of all of them together, None where nobody knows.
    """

    programs: tuple[tuple[str, FileOf], ...] = ()
    size: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LatestRelease:
    """The release of a job that counts.

    Attributes:
        job: number of the job.
        number: of the release.
        commit: what was released.
        job_path: path of its job.toml there.
        facts: the job as it was released.
        record: the release record.
        operations: what it holds, by operation id in lower case.
    """

    job: str
    number: int
    commit: str
    job_path: str
    facts: Job
    record: ReleaseRecord
    operations: Mapping[str, InRelease]

    @property
    def withdrawn(self) -> bool:
        """Whether everything it holds is recalled."""
        return all(one.withdrawn is not None for one in self.operations.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class JobReleases:
    """What became of a job's release tags: the one that counts, or why none does; ``passed_over`` are none."""

    job: str
    latest: LatestRelease | None
    why_none: str | None = None
    passed_over: tuple[Derived, ...] = ()


class Releases:
    """The releases of one repository on one day, each derived once and only when asked for."""

    def __init__(self, repo: Repository, ledger: Ledger, judge: Judge) -> None:
        """Args: repo: the clone. ledger: of the state in hand. judge: of that ledger, on the day asked about."""
        self._repo = repo
        self._ledger = ledger
        self._judge = judge
        self._head = repo.head().commit
        self._found: dict[str, JobReleases] = {}
        self._tags: dict[str, list[tuple[int, TagSeen]]] = {}
        self._by_job: dict[str | None, list[tuple[int, Stored]]] = {}
        self.strange: tuple[TagSeen, ...] = ()
        strange: list[TagSeen] = []
        for tag in repo.release_tags():
            name = release_name(tag.ref)
            if name is None:
                strange.append(tag)
            else:
                self._tags.setdefault(name.job.casefold(), []).append((name.number, tag))
        self.strange = tuple(strange)

    @property
    def jobs(self) -> tuple[str, ...]:
        """Jobs with a release tag, in lower case, sorted."""
        return tuple(sorted(self._tags))

    def last_tag(self, job: str) -> int | None:
        """The highest number of the job's tags, whatever they are worth; None where there is none."""
        return max((number for number, _ in self._tags.get(job.casefold(), ())), default=None)

    def of(self, job: str) -> JobReleases:
        """The releases of one job."""
        key = job.casefold()
        if key not in self._found:
            self._found[key] = self._look(job, sorted(self._tags.get(key, ()), key=_number, reverse=True))
        return self._found[key]

    def read_ahead(self, machine: Machine) -> Expected:
        """Have the programs for the machine read beside, those the releases' records name, in their order.

        What a record says here decides nothing: a program it does not name is read when it is asked for.
        """
        revisions = {(one.record.job, one.name): one.record for one in self._ledger.records}
        places: list[tuple[str, str]] = []
        programs: list[tuple[str, FileOf]] = []
        for tags in (self._tags[job] for job in self.jobs):
            tag = max(tags, key=_number)[1]
            for stored in self._part_of(tag).records:
                release = stored.record
                if stored.commit != tag.target or not isinstance(release, ReleaseRecord):
                    continue
                for one in release.operations:
                    record = revisions.get((release.job, one.revision))
                    if isinstance(record, RevisionRecord) and machine.id in one.machines:
                        places += [(stored.commit, file.path) for file in record.files]
                        programs += [(release.job or "", file) for file in record.files]
        self.look_ahead([max(self._tags[job], key=_number)[1] for job in self.jobs])
        return Expected(programs=tuple(programs), size=self._repo.expect(places))

    def look_ahead(self, tags: Sequence[TagSeen]) -> None:
        """Have read what these will be derived from, as the records say, which decide nothing here."""
        places: list[tuple[str, str]] = []
        for tag in tags:
            paths = {SHOP}
            for stored in self._part_of(tag).records:
                # of records other than releases the SHA-256 is known: only their folder is asked for
                is_release = isinstance(stored.record, ReleaseRecord)
                paths.add(stored.path if is_release else folder_of(stored.path))
                if isinstance(stored.record, RevisionRecord):
                    paths |= {job_path_of(stored), *(file.path for file in stored.record.files)}
            places += [(tag.target, path) for path in sorted(paths) if tag.target is not None]
        self._repo.look_ahead(places)

    def derive(self, tag: TagSeen) -> Derived:
        """One tag derived again; a clone that cannot tell gives a reason, not an error."""
        inside = self._head is not None and self._ledger.descends(self._head, tag.target or "")
        try:
            return rederive(self._repo, tag, known=self._part_of(tag) if inside else None)
        except CouldNot as fault:
            reason = Reason(words=f"could not find out: {fault.what}", clears=fault.fix)
            return Derived(tag=tag, name=release_name(tag.ref), reasons=(reason,))

    def _part_of(self, tag: TagSeen) -> Ledger:
        """The records a release can be about: those of its job and those of none, as `part_of` picks them."""
        if not self._by_job:
            for place, stored in enumerate(self._ledger.records):
                job = stored.record.job
                self._by_job.setdefault(None if job is None else job.casefold(), []).append((place, stored))
        name = release_name(tag.ref)
        own = self._by_job.get(name.job.casefold(), []) if name is not None else []
        rows = sorted([*own, *self._by_job.get(None, [])], key=_number)
        return replace(self._ledger, records=tuple(stored for _, stored in rows))

    def _look(self, job: str, tags: list[tuple[int, TagSeen]]) -> JobReleases:
        passed_over: list[Derived] = []
        for number, tag in tags:
            derived = self.derive(tag)
            if derived.holds:
                latest = self._latest(derived)
                why = self._why_withdrawn(latest)
                return JobReleases(job=job, latest=latest, why_none=why, passed_over=tuple(passed_over))
            if derived.stored is not None or _undecided(derived):
                why = f"release {number} cannot be derived again: {derived.words}"
                return JobReleases(job=job, latest=None, why_none=why, passed_over=tuple(passed_over))
            passed_over.append(derived)
        why = "is in no release"
        if passed_over:
            why = f"the tag {passed_over[0].tag.ref} is no release: {passed_over[0].words}"
        return JobReleases(job=job, latest=None, why_none=why, passed_over=tuple(passed_over))

    def _latest(self, derived: Derived) -> LatestRelease:
        record, facts, own = derived.record, derived.facts, derived.ledger
        if record is None or facts is None or own is None or derived.name is None:
            raise TypeError("a release that holds has a record, facts and a history")
        held: dict[str, InRelease] = {}
        for operation in record.operations:
            revision = by_name(own, derived.name.job, operation.operation, operation.revision)
            if revision is not None:
                held[operation.operation.casefold()] = InRelease(
                    operation=operation,
                    revision=revision,
                    withdrawn=self._withdrawn(revision),
                    texts=_texts(facts.texts.get(operation.operation)),
                )
        return LatestRelease(
            job=derived.name.job,
            number=derived.name.number,
            commit=derived.tag.target or "",
            job_path=facts.path,
            facts=facts.job,
            record=record,
            operations=held,
        )

    def _withdrawn(self, revision: Stored) -> str | None:
        """Why the revision's code is recalled today, read from every branch."""
        record = revision.record
        if not isinstance(record, RevisionRecord):
            return None
        book = self._judge.book(record.job)
        entry = book.revisions.get(revision.name) or Entry(stored=revision, record=record)
        return next((cause.words for cause in withdrawals(book, entry)), None)

    def _why_withdrawn(self, latest: LatestRelease) -> str | None:
        if not latest.withdrawn:
            return None
        return next((one.withdrawn for one in latest.operations.values()), None)


def released(repo: Repository, ledger: Ledger, judge: Judge, job: str) -> JobReleases:
    """The releases of one job; for several jobs make one `Releases`."""
    return Releases(repo, ledger, judge).of(job)


def _texts(text: OperationText | None) -> Mapping[str, FileOf]:
    return {} if text is None else {file.path: file for file in text.files}


def _number(pair: tuple[int, object]) -> int:
    return pair[0]


def _undecided(derived: Derived) -> bool:
    """Whether reading failed on the way: it may be a release, and nobody can tell."""
    return any(reason.words.startswith("could not find out") for reason in derived.reasons)
