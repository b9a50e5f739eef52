"""Why the next run on a machine asks for a first piece.

Rules:

1. After a machine's hold is lifted, each operation's next run there asks for one, once.
2. With ``group_first_piece``, the first run on a machine that counts by its group asks for one: of a text of the chain
   it stands on, or of its code. What was made there of another text says nothing about this one.
3. Asked for is answered by a run of the operation there with an accepted first piece (measured at once or afterwards),
   or by a counting full proof there; after a lift by a later one. A rejected first piece answers nothing.
"""

from collections.abc import Iterator, Sequence

from tracker.policy.book import Book, Entry
from tracker.policy.carry import Chain, among, members
from tracker.policy.days import local_date, words
from tracker.policy.groups import GROUP, same_machine
from tracker.policy.proofs import is_full, worth
from tracker.policy.shops import hands_had_role
from tracker.policy.stops import lift_of
from tracker.records.events import RanRecord, RevisionRecord
from tracker.records.shop import Machine
from tracker.records.stored import Stored


def first_piece_due(book: Book, entry: Entry[RevisionRecord], machine: Machine, chain: Chain) -> str | None:
    """Why a first piece is asked for, in words, or None."""
    answers = [*_answers(book, entry, machine)]
    for lift in _machine_lifts(book, machine):
        if not any(book.ledger.later(answer, lift) for answer in answers):
            lifted = words(local_date(lift.record.at, book.zone))
            return f"the next run asks for a first piece: {machine.id} was lifted {lifted}"
    if chain.place == GROUP and book.policy.group_first_piece and not _of_chain(book, answers, chain):
        return f"no first piece on {machine.id} recorded"
    return None


def _of_chain(book: Book, answers: Sequence[Stored], chain: Chain) -> bool:
    """Whether one of the answers is about a text of the chain."""
    texts = members(book, chain)
    made = (book.revisions.get(answer.record.revision or "") for answer in answers)
    return any(entry is not None and among(entry, texts) for entry in made)


def _machine_lifts(book: Book, machine: Machine) -> Iterator[Stored]:
    """Lifts of this machine's holds."""
    for hold in book.holds:
        record = hold.record
        if record.scope == "machine" and (record.machine is None or same_machine(record.machine, machine.id)):
            lift = lift_of(book, hold.stored)
            if lift is not None:
                yield lift


def _answers(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> Iterator[Stored]:
    operation = (entry.record.operation or "").casefold()
    for run in book.runs:
        here = same_machine(run.record.machine, machine.id)
        if here and (run.record.operation or "").casefold() == operation:
            answer = _accepted(book, run)
            if answer is not None:
                yield answer
    for proof in book.proofs:
        if (
            same_machine(proof.record.machine, machine.id)
            and (proof.record.operation or "").casefold() == operation
            and is_full(proof.record)
            and proof.record.prior is None
            and worth(book, proof).counts
        ):
            yield proof.stored


def _accepted(book: Book, run: Entry[RanRecord]) -> Stored | None:
    """The run if its first piece was accepted with it or afterwards, by somebody who may measure; else None."""
    piece = run.record.first_piece
    if piece is None or piece.result == "rejected":
        return None
    results = [entry for entry in book.measured if entry.record.proof == run.stored.path]
    if any(entry.record.result == "rejected" for entry in results):
        return None
    if piece.result == "accepted":
        return run.stored
    good = (
        entry
        for entry in results
        if entry.record.result == "accepted" and hands_had_role(book.ledger, entry.stored, "setup")
    )
    return run.stored if any(good) else None
