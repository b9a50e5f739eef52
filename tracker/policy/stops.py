"""What stops use: withdrawals, holds, rejections, and what ended them.

Rules:

1. Holds of a revision, withdrawals and rejections bind to the fingerprint and reach every revision with that code.
2. A hold of an operation reaches all its revisions, later ones too; a machine's hold everything on that machine.
3. A hold or a withdrawal lasts until quality lifts it; the lift is later, and in hand unless the stop is not. A machine's
   hold is ended only by a lift that says what was checked.
4. A withdrawal without named operations, whose release cannot be found, covers the whole job.
5. A rejection is seen on its machine; with the cause ``program`` on every machine. It beats every proof until a later
   accepted full proof of that fingerprint there. Where the rejection was made on another machine, a proof that counts
   by the group answers it too; one made on this machine is answered only on this machine.
6. What stops use counts whoever recorded it.
7. A proof whose text was turned down since on the machine it was made on gives the group nothing.
"""

from collections.abc import Iterator

from tracker.frozen import dataclass
from tracker.policy.book import Book, Entry
from tracker.policy.groups import GROUP, counts_on, same_machine
from tracker.policy.proofs import Worth, is_full, worth
from tracker.policy.shops import hands_had_role
from tracker.policy.spelled import by_words, operation_words, prove_command, revision_words
from tracker.policy.states import HELD, REJECTED, WITHDRAWN, Cause
from tracker.policy.texts import alike_for_stops, same_bytes
from tracker.records.events import (
    HoldRecord,
    LiftRecord,
    ProofRecord,
    Record,
    RevisionRecord,
    WithdrawRecord,
)
from tracker.records.shop import Machine
from tracker.records.stored import Stored


@dataclass(frozen=True, slots=True, kw_only=True)
class Rejection:
    """A rejection, by a proof or by the measuring of its first piece; ``cause`` as stated, or None."""

    stored: Stored
    proof: ProofRecord
    cause: str | None


def lift_of(book: Book, stop: Stored) -> Stored | None:
    """The lift that ended a hold or a withdrawal, or None (rule 3)."""
    return next((lift.stored for lift in book.lifts if _lifts(book, lift, stop)), None)


def _lifts(book: Book, lift: Entry[LiftRecord], stop: Stored) -> bool:
    named = stop.path in (lift.record.hold, lift.record.withdrawal)
    seen = lift.stored.in_hand or not stop.in_hand
    return (
        named
        and seen
        and book.ledger.later(lift.stored, stop)
        and hands_had_role(book.ledger, lift.stored, "quality")
        and (not _of_machine(stop) or says_what(lift.record))
    )


def says_what(lift: LiftRecord) -> bool:
    """Whether a lift says what was checked on the machine."""
    return bool((lift.check or "").split())


def _of_machine(stop: Stored) -> bool:
    return isinstance(stop.record, HoldRecord) and stop.record.scope == "machine"


def withdrawals(book: Book, entry: Entry[RevisionRecord]) -> Iterator[Cause]:
    """Every withdrawal in force that covers this revision's code."""
    for found in book.withdrawals:
        if lift_of(book, found.stored) is None and _covers(book, found.record, entry):
            record = found.record
            yield Cause(
                state=WITHDRAWN,
                words=f"withdrawn by {by_words(book, record)} (release {record.number}){_reason(record)}",
                clears=f'proveout lift {record.job}@{record.number} --by INITIALS -m "why"',
                records=(found.stored,),
            )


def _covers(book: Book, record: WithdrawRecord, entry: Entry[RevisionRecord]) -> bool:
    operations = record.operations
    if not operations:
        released = [r.record for r in book.releases if r.record.number == record.number]
        if not released:
            return True
        operations = tuple(op for release in released for op in release.operations)
    alike = alike_for_stops(book, entry)
    return any(op.operation_fingerprint in alike.prints or op.revision in alike.names for op in operations)


def holds(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> Iterator[Cause]:
    """Every hold in force on this revision, its operation, or the machine."""
    for found in book.holds:
        if lift_of(book, found.stored) is None and _reaches(book, found.record, entry, machine):
            yield Cause(
                state=HELD,
                words=_hold_words(book, found.record),
                clears=_hold_clears(book, found.record),
                records=(found.stored,),
            )


def lifts_relied_on(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> Iterator[Stored]:
    """The lifts without which this revision would be held or withdrawn here."""
    stops = [hold.stored for hold in book.holds if _reaches(book, hold.record, entry, machine)]
    stops += [found.stored for found in book.withdrawals if _covers(book, found.record, entry)]
    for stop in stops:
        lift = lift_of(book, stop)
        if lift is not None:
            yield lift


def _reaches(book: Book, hold: HoldRecord, entry: Entry[RevisionRecord], machine: Machine) -> bool:
    if hold.scope == "machine":
        return hold.machine is None or same_machine(hold.machine, machine.id)
    if hold.scope == "revision":
        alike = alike_for_stops(book, entry)
        return hold.operation_fingerprint in alike.prints or hold.revision in alike.names
    return hold.operation is None or hold.operation.casefold() == (entry.record.operation or "").casefold()


def _hold_words(book: Book, hold: HoldRecord) -> str:
    if hold.scope == "machine":
        cause = f" ({hold.cause})" if hold.cause else ""
        return f"held with {hold.machine or 'every machine'} by {by_words(book, hold)}{cause}{_reason(hold)}"
    return f"held by {by_words(book, hold)}{_reason(hold)}"


def _hold_clears(book: Book, hold: HoldRecord) -> str:
    if hold.scope == "machine":
        return f'proveout lift --machine {hold.machine} --check "what was checked" --by INITIALS -m "why"'
    named = operation_words(book, hold)
    if hold.scope == "revision":
        named = f"{named}@{revision_words(book, hold.revision)}"
    return f'proveout lift {named} --by INITIALS -m "why"'


def rejections(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> Iterator[Cause]:
    """Every rejection of this revision's code that is seen on the machine and not answered."""
    for found in _unanswered(book, entry, machine):
        yield Cause(
            state=REJECTED,
            words=_rejection_words(book, found),
            clears="check a mended text in, or prove this one in full: "
            + prove_command(book, entry, machine),
            records=(found.stored,),
        )


def is_rejected(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> bool:
    """Whether there is such a rejection."""
    return any(_unanswered(book, entry, machine))


def valid_on(book: Book, found: Worth, machine: Machine) -> str | None:
    """`OWN` or `GROUP` when a proof counts and is valid on ``machine``, else None (rule 7)."""
    place = counts_on(book, found.proof, machine) if found.counts else None
    return None if place == GROUP and _turned_down(book, found) else place


def _turned_down(book: Book, found: Worth) -> bool:
    """Whether the proof's own machine has turned that text down since."""
    made_on = book.shop.machine(found.proof.record.machine)
    if made_on is None or found.revision is None:
        return True
    return is_rejected(book, found.revision, made_on)


def _unanswered(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> Iterator[Rejection]:
    seen = book.once(
        ("unanswered", machine.id),
        lambda: [
            found
            for found in all_rejections(book)
            if _seen(found, machine) and not _answered(book, found, machine)
        ],
    )
    alike = alike_for_stops(book, entry)
    for found in seen:
        if found.proof.operation_fingerprint in alike.prints or found.proof.revision in alike.names:
            yield found


def all_rejections(book: Book) -> Iterator[Rejection]:
    """Every rejection of the job: of a prove-out, or of the first piece that was measured afterwards."""
    for entry in book.rejected:
        yield Rejection(stored=entry.stored, proof=entry.record, cause=entry.record.cause)
    for measured in book.measured:
        proof = _proof_at(book, measured.record.proof)
        if measured.record.result == "rejected" and proof is not None:
            yield Rejection(stored=measured.stored, proof=proof, cause=proof.cause)


def _proof_at(book: Book, path: str) -> ProofRecord | None:
    """The proof a measuring result belongs to; a line through the proof does not undo what was measured."""
    records = (s.record for s in book.ledger.records if s.path == path)
    return next((record for record in records if isinstance(record, ProofRecord)), None)


def _seen(rejection: Rejection, machine: Machine) -> bool:
    return rejection.cause == "program" or same_machine(rejection.proof.machine, machine.id)


def _answered(book: Book, rejection: Rejection, machine: Machine) -> bool:
    """Rule 5: by a later accepted full proof of that fingerprint there."""
    made_here = same_machine(rejection.proof.machine, machine.id)
    for proof in book.proofs:
        there = same_machine(proof.record.machine, machine.id) or (
            not made_here and counts_on(book, proof, machine) is not None
        )
        if (
            there
            and is_full(proof.record)
            and proof.record.prior is None  # paper from before the record answers nothing in it
            and book.ledger.later(proof.stored, rejection.stored)
            and _of_that_text(book, proof.record, rejection.proof)
            and worth(book, proof).counts
        ):
            return True
    return False


def _of_that_text(book: Book, proof: ProofRecord, rejected: ProofRecord) -> bool:
    if proof.operation_fingerprint == rejected.operation_fingerprint:
        return True
    a, b = (book.revisions.get(record.revision or "") for record in (proof, rejected))
    return a is not None and b is not None and same_bytes(a.record, b.record)


def _rejection_words(book: Book, rejection: Rejection) -> str:
    cause = f" ({rejection.cause})" if rejection.cause else ""
    record = rejection.stored.record
    return f"rejected on {rejection.proof.machine} by {by_words(book, record)}{cause}{_reason(record)}"


def _reason(record: Record) -> str:
    return f": {record.reason}" if record.reason else ""
