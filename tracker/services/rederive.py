"""Deriving a release again from its own history: the one way in which a release tag is ever believed.

The gate, status, export and audit all come through `rederive`. What is looked at, in this order: the tag, the record it
names, the records of its own history, the programs and setup sheets of its tree, the standing of every operation on
the day the record was entered.
"""

from tracker.digest import sha256_of
from tracker.errors import BadCall
from tracker.frozen import dataclass, replace
from tracker.policy.book import part_of
from tracker.policy.derive import own_history, record_reasons, release_reasons, tag_signature_reasons
from tracker.policy.gate import ReleaseName, message_of, named_record, release_name, tag_reasons
from tracker.policy.release_rules import Decision, Reason, decide
from tracker.policy.standing import Judge
from tracker.records.events import ReleaseRecord
from tracker.records.names import release_file
from tracker.records.places import job_folder
from tracker.records.stored import Ledger, Stored
from tracker.services.ports import Recorded, TagSeen, Tree
from tracker.services.release_facts import JobFacts, job_facts


@dataclass(frozen=True, slots=True, kw_only=True)
class Derived:
    """A release tag looked into.

    Attributes:
        tag: as found.
        name: job and number, None where the reference is not called like a release.
        stored: the release record its message names, if its commit holds it; without one it is no release at all.
        reasons: why it is not believed; empty: it is a release.
        ledger: its own history.
        facts: the job as its tree holds it.
        decision: the rules asked again.
    """

    tag: TagSeen
    name: ReleaseName | None
    reasons: tuple[Reason, ...]
    stored: Stored | None = None
    ledger: Ledger | None = None
    facts: JobFacts | None = None
    decision: Decision | None = None

    @property
    def holds(self) -> bool:
        """Whether it could be derived again."""
        return not self.reasons

    @property
    def record(self) -> ReleaseRecord | None:
        """The release record."""
        record = self.stored.record if self.stored else None
        return record if isinstance(record, ReleaseRecord) else None

    @property
    def words(self) -> str:
        """All reasons in one line."""
        return "; ".join(reason.words for reason in self.reasons)


def rederive(repo: Recorded, tag: TagSeen, *, known: Ledger | None = None) -> Derived:
    """Derive a release again.

    Args:
        repo: the clone.
        tag: the reference as found (it need not exist yet).
        known: a ledger that holds the whole history of the tag's commit; built for that commit if None.

    Raises:
        CouldNot: the clone cannot tell (shallow, damaged).
    """
    name = release_name(tag.ref)
    wrong = tuple(tag_reasons(tag))
    if wrong or name is None or tag.target is None:
        return Derived(tag=tag, name=name, reasons=wrong)
    path, digest = named_record(tag.message) or ("", "")
    tree = repo.tree(tag.target)
    data = tree.read(path)
    if data is None or sha256_of(data) != digest:
        gone = "is not in its commit" if data is None else "has not the SHA-256 the tag says"
        return Derived(tag=tag, name=name, reasons=(Reason(words=f"{path} {gone}"),))
    try:
        return _with_record(repo, tag, name, path, tree, known)
    except BadCall as fault:
        where = f"{fault.where}: " if fault.where else ""
        return Derived(tag=tag, name=name, reasons=(Reason(words=f"{where}{fault.what}"),))


def _with_record(
    repo: Recorded, tag: TagSeen, name: ReleaseName, path: str, tree: Tree, known: Ledger | None
) -> Derived:
    commit = tag.target or ""
    ledger = _own_ledger(repo, commit, tree, name.job, known)
    stored = next((one for one in ledger.records if one.path == path and one.in_hand), None)
    folder = job_folder(path)
    if stored is None or folder is None or path != release_file(folder, name.number):
        words = f"{path} is no readable record of release {name.number} of {name.job}"
        return Derived(tag=tag, name=name, reasons=(Reason(words=words),))
    reasons = [*record_reasons(ledger, stored, name.job, name.number)]
    if tag.data:  # a tag that is still to be made has no signature yet
        reasons += tag_signature_reasons(ledger, stored, repo.tag_sealed(tag))
    if stored.commit != commit:
        words = f"{path} came in with commit {stored.commit[:12]}, and the tag stands on {commit[:12]}"
        reasons.append(Reason(words=words))
    if reasons or not isinstance(stored.record, ReleaseRecord):
        return Derived(tag=tag, name=name, stored=stored, ledger=ledger, reasons=tuple(reasons))
    facts = job_facts(tree, f"{folder}/job.toml", ledger.shop, repo.program_facts())
    judge = Judge(ledger, stored.record.entered)
    decision = decide(ledger, judge, name.job, folder, facts.operations)
    if facts.job.number != name.job:
        reasons.append(Reason(words=f"{facts.path} is of job {facts.job.number}, not of {name.job}"))
    reasons += release_reasons(ledger, stored.record, decision)
    return Derived(
        tag=tag,
        name=name,
        reasons=tuple(dict.fromkeys(reasons)),
        stored=stored,
        ledger=ledger,
        facts=facts,
        decision=decision,
    )


def _own_ledger(repo: Recorded, commit: str, tree: Tree, job: str, known: Ledger | None) -> Ledger:
    """The records of the job in the commit's own history, and the shop of its tree."""
    part = part_of(known, job) if known is not None else repo.ledger_of_job(commit, job)

    def holds(stored: Stored) -> bool:
        return tree.digest(stored.path) == stored.sha256

    own = own_history(part, commit, tree.shop(), holds)
    there = tuple(bad for bad in own.unreadable if tree.read(bad.path) is not None)
    return replace(own, unreadable=there)


def tag_for(stored: Stored, record: ReleaseRecord) -> TagSeen:
    """The tag a release record is to have: on the commit that brought it in."""
    name = ReleaseName(job=record.job or "", number=record.number)
    return TagSeen(
        ref=f"refs/tags/{name.tag}",
        object_id="",
        kind="tag",
        target=stored.commit,
        header_name=name.tag,
        message=message_of(name.job, name.number, stored.path, stored.sha256),
    )
