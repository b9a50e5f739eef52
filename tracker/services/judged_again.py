"""The checks asked again: by a release, by what receives a push, by an audit. What a record says is not believed there."""

from collections.abc import Callable, Iterator, Mapping, MutableMapping, Sequence

from tracker.checks.registry import CHECKS_VERSION, RULES
from tracker.frozen import replace
from tracker.policy.find import newest
from tracker.policy.release_rules import REFUSE, OperationFacts, Reason, decide
from tracker.policy.standing import Judge
from tracker.records.events import Finding, RevisionRecord
from tracker.records.job import Waiver
from tracker.records.shop import Checks, Machine
from tracker.records.stored import Ledger
from tracker.services.findings_kept import kept
from tracker.services.operation_text import OperationText
from tracker.services.ports import TagSeen
from tracker.services.rederive import Derived
from tracker.services.release_facts import JobFacts
from tracker.services.verifying import verified

Asked = tuple[OperationText, Checks, tuple[Machine, ...]]
Known = MutableMapping[Asked, tuple[Finding, ...]]
_REFUSING = tuple(rule for rule in RULES if rule.severity == REFUSE)
"""What only warns holds nothing back."""


def judged_again(
    facts: JobFacts, ledger: Ledger, *, same_version_only: bool = False, known: Known | None = None
) -> tuple[OperationFacts, ...]:
    """The operations with every check that can refuse run again, each finding with who waived it in the newest revision's record.

    Waivers that stand in job.toml alone do not count. With ``same_version_only`` (an audit, a first push) a revision that
    was checked in under other rules is left to what its record says: a rule that came later undoes no release. One that
    names no rules at all is asked again: check-in has always written them, so somebody took them out. A release that
    comes in today is asked by the rules of today: anyone can write an old version into a record.

    ``known``: what was found in this run by now; one text on the same sheet and machines is checked once, however many
    releases hold it.
    """
    found = {} if known is None else known
    return tuple(_again(facts, one, ledger, found, same=same_version_only) for one in facts.operations)


def _again(
    facts: JobFacts, one: OperationFacts, ledger: Ledger, known: Known, *, same: bool
) -> OperationFacts:
    text = facts.texts.get(one.operation)
    record = _newest(facts, one, ledger)
    if text is None or record is None:
        return one
    if same and record.checks_version not in (None, CHECKS_VERSION):
        return one
    waivers = tuple(waiver for said in record.waivers if (waiver := _waiver(said)) is not None)
    as_recorded = replace(text, operation=replace(text.operation, waivers=waivers))
    asked = (as_recorded, ledger.shop.checks, ledger.shop.machines)  # all that is looked at
    if asked not in known:
        known[asked] = tuple(kept(verified(as_recorded, ledger.shop, rules=_REFUSING)))
    return replace(one, findings=known[asked], verified=True)


def told_apart(facts: JobFacts, ledger: Ledger) -> Iterator[Reason]:
    """That a revision was checked in under other rules than the ones asked here, and what makes both sides agree.

    An honest client of another version learns so why `release` had nothing against it.
    """
    for one in facts.operations:
        record = _newest(facts, one, ledger)
        version = record.checks_version if record is not None else None
        if version is not None and version != CHECKS_VERSION:
            whose = "on the PC" if version < CHECKS_VERSION else "on the server"
            yield Reason(
                words=f"{facts.job.number}/{one.operation} was checked in under version {version} of the checks, "
                f"and version {CHECKS_VERSION} judges it here",
                clears=f"update proveout {whose}, then check in and release again",
            )


def _newest(facts: JobFacts, one: OperationFacts, ledger: Ledger) -> RevisionRecord | None:
    """The newest revision's record; None where there is none, or more than one."""
    heads = newest(ledger, facts.job.number, one.operation)
    record = heads[0].record if len(heads) == 1 else None
    return record if isinstance(record, RevisionRecord) else None


def _refused(facts: JobFacts, again: Sequence[OperationFacts], ledger: Ledger) -> bool:
    """Whether a finding refuses that nobody waived: one of now, or one that stands in the newest revision's record."""
    for one in again:
        record = _newest(facts, one, ledger)
        recorded = record.findings if record is not None else ()
        if any(said.severity == REFUSE and not said.waived_by for said in (*one.findings, *recorded)):
            return True
    return False


def _waiver(said: Mapping[str, object]) -> Waiver | None:
    """A waiver as it stands in a record; None for one this version cannot read: it lets nothing stand."""
    rule, reason, by = said.get("rule"), said.get("reason"), said.get("by")
    tool, line = said.get("tool"), said.get("line")
    if not (isinstance(rule, str) and isinstance(reason, str) and isinstance(by, str)):
        return None
    if not isinstance(tool, int | None) or not isinstance(line, str | None):
        return None
    return Waiver(rule=rule, reason=reason, by=by, tool=tool, line=line)


def looked_into(derive: Callable[[TagSeen], Derived]) -> Callable[[TagSeen], Derived]:
    """The same derivation of a release tag, with the checks asked again where it holds so far."""
    known: Known = {}

    def derived(tag: TagSeen) -> Derived:
        found = derive(tag)
        if not found.holds or found.facts is None or found.ledger is None or found.record is None:
            return found
        facts = judged_again(found.facts, found.ledger, same_version_only=True, known=known)
        if not _refused(found.facts, facts, found.ledger):  # the decision in hand is the answer
            return found
        judge = Judge(found.ledger, found.record.entered)
        decision = decide(found.ledger, judge, found.facts.job.number, found.facts.folder, facts)
        reasons = [*decision.reasons]
        for operation in found.record.operations:
            if not decision.reasons and decision.of(operation.operation) is None:
                left = [one for one in decision.left_out if one.facts.operation == operation.operation]
                reasons += [reason for one in left for reason in one.reasons]
        return replace(found, reasons=tuple(dict.fromkeys(reasons)))

    return derived
