"""Whether a job may be released as a tree holds it: every operation, or one of its alternatives, has to stand.

An operation stands when

1. exactly one newest revision is recorded, and the programs and the setup sheet in the tree are that revision's, to
   the last byte,
2. no finding of severity ``refuse`` stands against it, in its record or in the tree,
3. its revision is usable (proven or carried) on one of the machines of its sheet, or on all of them where policy says
   ``machines = "all"``.

Of an operation and its alternatives one has to stand; those that do not are named. Nothing is decided on a job with a
record that cannot be read, nor with one that was entered on a later day than the release: one of the two clocks was
wrong, and a stop from "tomorrow" must not be looked past.
"""

from collections.abc import Iterator, Sequence

from tracker.frozen import dataclass
from tracker.policy.days import local_date
from tracker.policy.days import words as day_words
from tracker.policy.find import label, newest_by_operation, short_name, struck
from tracker.policy.standing import Judge
from tracker.policy.states import UNPROVEN, Standing
from tracker.policy.texts import raw_files
from tracker.records.events import FileOf, Finding, RevisionRecord
from tracker.records.places import job_folder
from tracker.records.stored import Ledger, Stored

REFUSE = "refuse"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why the answer is no: in words, and the command that would clear it, if one would."""

    words: str
    clears: str | None = None

    def __str__(self) -> str:
        """The words with the remedy behind them."""
        return f"{self.words} (clear it: {self.clears})" if self.clears else self.words


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationFacts:
    """An operation as a tree holds it; ``problem`` says why its text could not be put together.

    ``findings`` are those of the calls alone; with ``verified`` those of every check, just run, each with who waived it.
    """

    operation: str
    alternative_to: str | None = None
    machines: tuple[str, ...] = ()
    files: tuple[FileOf, ...] = ()
    sheet_fingerprint: str = ""
    fingerprint: str = ""
    rule_version: int = 0
    findings: tuple[Finding, ...] = ()
    verified: bool = False
    problem: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationStands:
    """How one operation came out: its revision, its standing on each machine, and the reasons against it."""

    facts: OperationFacts
    revision: Stored | None
    standings: tuple[tuple[str, Standing], ...] = ()
    reasons: tuple[Reason, ...] = ()

    @property
    def usable(self) -> tuple[tuple[str, Standing], ...]:
        """The machines it may be run on."""
        return tuple(pair for pair in self.standings if pair[1].usable)

    @property
    def others(self) -> tuple[tuple[str, Standing], ...]:
        """The machines it may not be run on."""
        return tuple(pair for pair in self.standings if not pair[1].usable)


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """How a job came out.

    ``included`` stand; ``left_out`` are alternatives that do not; ``reasons`` why there is no release at all;
    ``families`` ids of operations of which one is needed.
    """

    included: tuple[OperationStands, ...]
    left_out: tuple[OperationStands, ...]
    reasons: tuple[Reason, ...]
    families: tuple[tuple[str, ...], ...] = ()

    def of(self, operation: str) -> OperationStands | None:
        """The operation that stands, by id, or None."""
        wanted = operation.casefold()
        return next((one for one in self.included if one.facts.operation.casefold() == wanted), None)


def decide(ledger: Ledger, judge: Judge, job: str, folder: str, facts: Sequence[OperationFacts]) -> Decision:
    """Decide on a job.

    Args:
        ledger: the records decided on.
        judge: of the same ledger, on the day of the release.
        job: its number.
        folder: the job's folder (``jobs/4471``).
        facts: its operations in the order of job.toml.
    """
    reasons = [*_unreadable(ledger, folder), *_from_later(judge, job)]
    if not facts:
        reasons.append(
            Reason(words=f"job {job} has no operation", clears=f"write one into {folder}/job.toml")
        )
    looked = [_look(ledger, judge, job, one, spelled_of(job, one, facts)) for one in facts]
    included: list[OperationStands] = []
    left_out: list[OperationStands] = []
    families = list(_families(looked))
    for family in families:
        standing = [one for one in family if not one.reasons]
        included += standing
        if standing:
            left_out += [one for one in family if one.reasons]
        else:
            reasons += [reason for one in family for reason in one.reasons]
    order = {one.operation: place for place, one in enumerate(facts)}
    included.sort(key=lambda one: order[one.facts.operation])
    return Decision(
        included=tuple(included),
        left_out=tuple(left_out),
        reasons=tuple(reasons),
        families=tuple(tuple(one.facts.operation for one in family) for family in families),
    )


def spelled_of(job: str, one: OperationFacts, facts: Sequence[OperationFacts]) -> str:
    """``4471/op10``; the job alone where it has one operation."""
    return job if len(facts) == 1 else f"{job}/{one.operation}"


def _families(looked: Sequence[OperationStands]) -> Iterator[list[OperationStands]]:
    """Each operation with its alternatives, and theirs."""
    roots = {one.facts.operation.casefold(): _root(one.facts, looked) for one in looked}
    for root in dict.fromkeys(roots.values()):
        yield [one for one in looked if roots[one.facts.operation.casefold()] == root]


def _root(facts: OperationFacts, looked: Sequence[OperationStands]) -> str:
    """The operation at the end of a line of alternatives; a circle ends where it closes."""
    by_id = {one.facts.operation.casefold(): one.facts for one in looked}
    seen: list[str] = []
    here = facts
    while here.operation.casefold() not in seen:
        seen.append(here.operation.casefold())
        above = by_id.get((here.alternative_to or "").casefold())
        if above is None:
            return here.operation.casefold()
        here = above
    return min(seen)


def _unreadable(ledger: Ledger, folder: str) -> Iterator[Reason]:
    for bad in ledger.unreadable:
        if job_folder(bad.path) in (None, folder):
            yield Reason(words=f"{bad.path} cannot be read: {bad.why}", clears="proveout audit")


def _from_later(judge: Judge, job: str) -> Iterator[Reason]:
    part = judge.book(job).ledger
    dated = [(stored, local_date(stored.record.entered, judge.zone)) for stored in part.records]
    later = [(stored, entered) for stored, entered in dated if entered > judge.day]
    gone = struck(part) if later else frozenset[str]()
    for stored, entered in later:
        if stored.path not in gone:
            yield Reason(
                words=f"{stored.path} was entered on {day_words(entered)}, after the release "
                f"({day_words(judge.day)}): one of the two clocks was wrong",
                clears="set this PC's clock right, or strike that record if it was its own clock",
            )


def _look(ledger: Ledger, judge: Judge, job: str, facts: OperationFacts, spelled: str) -> OperationStands:
    book = judge.book(job)
    newest = book.once(("newest",), lambda: newest_by_operation(book.ledger, job))
    heads = newest.get(facts.operation.casefold(), ())
    if len(heads) != 1:
        return OperationStands(facts=facts, revision=None, reasons=(_no_head(facts, spelled, heads),))
    revision = heads[0]
    against = [*_text_reasons(facts, spelled, revision), *_findings(facts, spelled, revision)]
    standings = tuple((name, _standing(ledger, judge, revision, name)) for name in facts.machines)
    against += _machine_reasons(book.policy.machines, spelled, revision, standings)
    return OperationStands(
        facts=facts, revision=revision, standings=standings, reasons=tuple(dict.fromkeys(against))
    )


def _no_head(facts: OperationFacts, spelled: str, heads: tuple[Stored, ...]) -> Reason:
    check_in = f'proveout checkin {spelled} -m "why"'
    if not heads:
        problem = f" ({facts.problem})" if facts.problem else ""
        return Reason(words=f"{spelled} is not checked in{problem}", clears=check_in)
    names = " and ".join(short_name(stored.name) for stored in heads)
    words = f"{spelled}: {names} stand side by side, made in two clones; nobody can say which one is meant"
    return Reason(words=words, clears=check_in)


def _text_reasons(facts: OperationFacts, spelled: str, revision: Stored) -> Iterator[Reason]:
    """Rule 1: the tree holds what the record says."""
    record = revision.record
    check_in = f'proveout checkin {spelled} -m "why"'
    name = label(revision.name)
    if facts.problem is not None:
        yield Reason(words=f"{spelled}: {facts.problem}", clears=check_in)
        return
    if not isinstance(record, RevisionRecord):
        return
    here = {file.path: file.raw_sha256 for file in facts.files}
    there = {file.path: file.raw_sha256 for file in record.files}
    different = sorted(path for path in {*here, *there} if here.get(path) != there.get(path))
    if different:
        yield Reason(words=f"{spelled}: {', '.join(different)} is not as recorded in {name}", clears=check_in)
    elif raw_files(facts.files) != raw_files(record.files):
        yield Reason(
            words=f"{spelled}: its programs are named or ordered otherwise in {name}", clears=check_in
        )
    if facts.sheet_fingerprint != record.sheet_fingerprint:
        yield Reason(words=f"{spelled}: the setup sheet is not as recorded in {name}", clears=check_in)
    if not different and not _print_true(facts, record):
        words = f"{spelled}: the fingerprint recorded in {name} is not that of its programs and sheet"
        yield Reason(words=words, clears="proveout audit")


def _print_true(facts: OperationFacts, record: RevisionRecord) -> bool:
    """Whether the recorded fingerprint is the text's; one by other rules cannot be computed any more."""
    if facts.rule_version != record.rule_version or facts.sheet_fingerprint != record.sheet_fingerprint:
        return True
    return facts.fingerprint == record.operation_fingerprint


def _findings(facts: OperationFacts, spelled: str, revision: Stored) -> Iterator[Reason]:
    """Rule 2. A finding of the tree that was not judged again stands waived where the record says so."""
    record = revision.record
    recorded = record.findings if isinstance(record, RevisionRecord) else ()
    let_stand = set() if facts.verified else {_alike(one) for one in recorded if one.waived_by}
    for finding in dict.fromkeys((*facts.findings, *recorded)):
        if finding.severity == REFUSE and not finding.waived_by and _alike(finding) not in let_stand:
            where = f"{finding.file}:{finding.line}: " if finding.file and finding.line else ""
            on = f" ({finding.machine})" if finding.machine else ""
            yield Reason(
                words=f"{spelled}: {where}{finding.message}{on} [{finding.rule}]", clears=finding.remedy
            )


def _alike(finding: Finding) -> tuple[str, str | None, int | None, str]:
    """What two sayings of one finding have in common."""
    return finding.rule, finding.file, finding.line, finding.message


def _machine_reasons(
    needed: str, spelled: str, revision: Stored, standings: tuple[tuple[str, Standing], ...]
) -> Iterator[Reason]:
    """Rule 3."""
    if not standings:
        words = f"{spelled}: job.toml names no machine for it"
        yield Reason(words=words, clears='write machines = ["..."] into its [[operations]] table')
    if needed != "all" and any(found.usable for _, found in standings):
        return
    for name, found in standings:
        if not found.usable:
            yield Reason(
                words=f"{spelled} {label(revision.name)} on {name}: {found.reason}",
                clears="; ".join(found.clears) or None,
            )


def _standing(ledger: Ledger, judge: Judge, revision: Stored, name: str) -> Standing:
    machine = ledger.shop.machine(name)
    if machine is None:
        return Standing(state=UNPROVEN, reason=f"unproven: {name} is not in shop.toml")
    return judge.standing(revision, machine)
