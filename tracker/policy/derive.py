"""Whether a release record says what its own history bears out.

A release is judged on the day its record was entered, with the records of its own history: those a release commit
descends from. A later hold or lapse does not reach back; what was not in that history gives no permission.
"""

from collections.abc import Callable, Iterator

from tracker.frozen import replace
from tracker.policy.release_rules import Decision, Reason
from tracker.policy.release_tag import tag_worth
from tracker.policy.shops import had_role
from tracker.policy.signed import needs_signature
from tracker.policy.unsigned import signing_shop, unsigned
from tracker.records.events import ReleasedOperation, ReleaseRecord
from tracker.records.shop import Shop
from tracker.records.stored import Found, Ledger, Stored


def own_history(ledger: Ledger, commit: str, shop: Shop, holds: Callable[[Stored], bool]) -> Ledger:
    """The part of a ledger that belongs to a commit.

    Args:
        ledger: of any state that knows the commit; its records may be narrowed to one job before.
        commit: the state judged.
        shop: shop.toml as that state holds it.
        holds: whether the commit's tree holds a record, byte for byte.
    """
    kept: list[Stored] = []
    for stored in ledger.records:
        here = holds(stored)
        if here or ledger.descends(commit, stored.commit):
            kept.append(stored if stored.in_hand is here else replace(stored, in_hand=here))
    shops = tuple(version for version in ledger.shops if ledger.descends(commit, version.commit))
    return replace(ledger, shop=shop, records=tuple(kept), shops=shops)


def record_reasons(ledger: Ledger, stored: Stored, job: str, number: int) -> Iterator[Reason]:
    """What is wrong with the release record itself; ``ledger`` is its own history."""
    record = stored.record
    if not isinstance(record, ReleaseRecord):
        yield Reason(words=f"{stored.path} is no record of a release")
        return
    if record.job != job or record.number != number:
        yield Reason(words=f"{stored.path} is of release {record.number} of {record.job}")
    for who in dict.fromkeys((record.by, record.entered_by or record.by)):
        if not had_role(ledger, stored, who, "quality"):
            yield Reason(words=f"{who} had not the role quality when {stored.path} was entered")
    if not record.operations:
        yield Reason(words=f"{stored.path} names no operation")
    owed = unsigned(ledger, stored)
    if owed is not None:
        yield Reason(words=f"{stored.path} {owed.words}, and records must be signed (by {owed.whom})")


def tag_signature_reasons(ledger: Ledger, stored: Stored, found: Found) -> Iterator[Reason]:
    """What is wrong with a release tag's signature, where the shop.toml before the release asks for one.

    ``stored``: the release record; who put it down signs the tag, or another of quality. ``found``: what was found in it.
    """
    shop, earlier = signing_shop(ledger, stored)
    record = stored.record
    if shop is None or not needs_signature(shop) or not isinstance(record, ReleaseRecord):
        return
    value = tag_worth(record, found, shop, earlier, record.entered)
    if not value.good:
        yield Reason(words=f"the tag {value.words}, and release tags must be signed (by {value.whom})")


def release_reasons(ledger: Ledger, record: ReleaseRecord, decision: Decision) -> Iterator[Reason]:
    """Why the rules, asked again, do not give what the record says; ``ledger`` is its own history."""
    yield from decision.reasons
    named = {operation.operation.casefold() for operation in record.operations}
    for family in decision.families:
        if not named & {operation.casefold() for operation in family}:
            yield Reason(words=f"{' or '.join(family)} is not in the record of the release")
    for operation in record.operations:
        yield from _operation(record, operation, decision)
        yield from _relied_on(ledger, operation)


def _operation(record: ReleaseRecord, operation: ReleasedOperation, decision: Decision) -> Iterator[Reason]:
    found = decision.of(operation.operation)
    spelled = f"{record.job}/{operation.operation}"
    if found is None or found.revision is None:
        left_out = (one for one in decision.left_out if one.facts.operation == operation.operation)
        reasons = [reason for one in left_out for reason in one.reasons]
        known = any(operation.operation in family for family in decision.families)
        if not known:
            yield Reason(words=f"{spelled} is not in the job.toml that was released")
        yield from reasons
        return
    fingerprint = getattr(found.revision.record, "operation_fingerprint", None)
    if operation.revision != found.revision.name or operation.operation_fingerprint != fingerprint:
        yield Reason(
            words=f"{spelled}: the record names {operation.revision}, the tree holds {found.revision.name}"
        )
    standings = {name.casefold(): standing for name, standing in found.standings}
    if not operation.machines:
        yield Reason(words=f"{spelled}: the record names no machine")
    for machine in operation.machines:
        standing = standings.get(machine.casefold())
        if standing is None:
            yield Reason(words=f"{spelled}: {machine} is not on its setup sheet")
        elif not standing.usable:
            yield Reason(words=f"{spelled} on {machine}: {standing.reason}")


def not_named(record: ReleaseRecord, decision: Decision) -> Iterator[Reason]:
    """Evidence a release rests on and does not name: who checks it by hand would look for it in vain."""
    for operation in record.operations:
        found = decision.of(operation.operation)
        machines = {name.casefold() for name in operation.machines}
        named = {reference.path for reference in operation.relied_on}
        for name, standing in found.usable if found is not None else ():
            rests_on = standing.relied_on if name.casefold() in machines else ()
            for stored in rests_on:
                if stored.in_hand and stored.path not in named:
                    words = f"{record.job}/{operation.operation} rests on {stored.path}, which the record does not name as relied on"
                    yield Reason(words=words, clears=f"proveout release {record.job} makes another")


def _relied_on(ledger: Ledger, operation: ReleasedOperation) -> Iterator[Reason]:
    """Every record named as evidence is there, with the bytes it had."""
    if not operation.relied_on:
        yield Reason(words=f"{operation.operation}: the record names nothing it relies on")
    there = {(stored.path, stored.sha256) for stored in ledger.records if stored.in_hand}
    for reference in operation.relied_on:
        if (reference.path, reference.sha256) not in there:
            yield Reason(words=f"{reference.path} is not there as it was relied on")
