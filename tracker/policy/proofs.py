"""What a proof is worth on a day: whether it counts, what it still owes, what has to be said with it.

An accepted proof counts when

1. it is of the text of the revision it names, as `tracker.policy.binding` tells,
2. the prover held the role setup then, and so did who entered it for him, as with every permission,
3. its first piece, if one was waited for, was measured and accepted by somebody with the role setup,
4. with ``two_person``, neither the prover nor who entered it wrote the text, or a second person with the role setup or
   quality, none of these, countersigned,
5. kept on paper (``prior``), it is whole and says where the paper lies, it was entered while the policy's date lasted, and
   that date is not over.
"""

from collections.abc import Iterator

from tracker.frozen import dataclass
from tracker.policy.binding import other_code, unbound
from tracker.policy.book import Book, Entry
from tracker.policy.days import entered_late, local_date
from tracker.policy.days import words as day_words
from tracker.policy.paper import paper_lacks
from tracker.policy.shops import had_role, hands_had_role, shop_at
from tracker.policy.spelled import by_words, prove_command, revision_words, target_words
from tracker.policy.writers import people_of, writers
from tracker.records.events import ProofRecord, RevisionRecord
from tracker.records.shop import Machine
from tracker.records.stored import Stored


@dataclass(frozen=True, slots=True, kw_only=True)
class Owed:
    """What keeps a proof from counting, and the command that would clear it, if there is one.

    ``proves``: the name of the revision that command proves on the machine, None where it does something else.
    """

    words: str
    clears: str | None = None
    proves: str | None = None

    @classmethod
    def proof(
        cls, words: str, book: Book, entry: Entry[RevisionRecord], machine: Machine, tools: str = ""
    ) -> "Owed":
        """A proof of a revision is owed; ``tools``: of these alone, ``3,4``."""
        command = prove_command(book, entry, machine)
        clears = f"{command} --tools {tools}" if tools else command
        return cls(words=words, clears=clears, proves=entry.stored.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """A proof with what stands behind it (measured, countersigned) and what it owes."""

    proof: Entry[ProofRecord]
    revision: Entry[RevisionRecord] | None
    owes: tuple[Owed, ...]
    behind: tuple[Stored, ...]
    remarks: tuple[str, ...]

    @property
    def counts(self) -> bool:
        """Accepted and nothing owed."""
        return self.proof.record.result == "accepted" and not self.owes

    @property
    def records(self) -> tuple[Stored, ...]:
        """The proof and what stands behind it."""
        return (self.proof.stored, *self.behind)


def worth(book: Book, proof: Entry[ProofRecord]) -> Worth:
    """Weigh one proof."""
    return book.once(("worth", proof.stored.path), lambda: _weigh(book, proof))


def _weigh(book: Book, proof: Entry[ProofRecord]) -> Worth:
    revision = book.revisions.get(proof.record.revision or "")
    why = "names no text the record knows" if revision is None else _unbound(book, proof, revision)
    if revision is None or why is not None:
        owed = Owed(words=f"the proof by {by_words(book, proof.record)} {why}")
        return Worth(proof=proof, revision=None, owes=(owed,), behind=(), remarks=())
    piece_owes, measured = _first_piece(book, proof, revision)
    second_owes, countersigned, same_person = _second_person(book, proof, revision)
    owes = [*_unsigned(book, proof), *_role(book, proof), *_prior(book, proof), *piece_owes, *second_owes]
    return Worth(
        proof=proof,
        revision=revision,
        owes=tuple(owes),
        behind=(*measured, *countersigned),
        remarks=tuple(_remarks(proof.record, same_person)),
    )


def is_full(proof: ProofRecord) -> bool:
    """A proof of everything, neither of sections nor the short form after a lapse."""
    return not proof.tools and not proof.again


def _unbound(book: Book, proof: Entry[ProofRecord], revision: Entry[RevisionRecord]) -> str | None:
    return unbound(proof.record, revision.record) or other_code(book, proof.record, revision.record)


def _unsigned(book: Book, proof: Entry[ProofRecord]) -> Iterator[Owed]:
    worth = book.unsigned.get(proof.stored.path)
    if worth is not None:
        yield Owed(
            words=f"the proof by {by_words(book, proof.record)} {worth.words}, and the shop asks for signatures"
        )


def _role(book: Book, proof: Entry[ProofRecord]) -> Iterator[Owed]:
    record = proof.record
    for who in dict.fromkeys((record.by, record.entered_by or record.by)):
        if not had_role(book.ledger, proof.stored, who, "setup"):
            name = "" if who == record.by else f"{who}, who entered it, was "
            yield Owed(
                words=f"the proof by {by_words(book, record)} does not count: {name}not listed as setup then"
            )


def _prior(book: Book, proof: Entry[ProofRecord]) -> Iterator[Owed]:
    if proof.record.prior is None:
        return
    lacks = paper_lacks(proof.record)
    if lacks is not None:
        yield Owed(words=f"the proof by {by_words(book, proof.record)} {lacks}")
        return
    until = shop_at(book.ledger, proof.stored).policy.prior_until
    if until is None or local_date(proof.record.entered, book.zone) > until:
        yield Owed(
            words=f"the proof by {by_words(book, proof.record)} was kept on paper, and the shop did not take "
            "those in then"
        )
        return
    still = book.policy.prior_until
    if still is None or book.day > still:
        yield Owed(
            words=f"the proof by {by_words(book, proof.record)} was kept on paper, and counted until {day_words(still or until)}"
        )


def _first_piece(
    book: Book, proof: Entry[ProofRecord], revision: Entry[RevisionRecord]
) -> tuple[list[Owed], list[Stored]]:
    """What the first piece still owes, and the record that measured it."""
    piece = proof.record.first_piece
    results = [entry for entry in book.measured if entry.record.proof == proof.stored.path]
    if (piece and piece.result == "rejected") or any(e.record.result == "rejected" for e in results):
        return [Owed(words=f"the first piece of {by_words(book, proof.record)} was rejected")], []
    if piece is None or piece.result == "accepted":
        return [], []
    good = [
        entry
        for entry in results
        if entry.record.result == "accepted" and hands_had_role(book.ledger, entry.stored, "setup")
    ]
    if good:
        return [], [good[0].stored]
    command = (
        f"proveout measured {target_words(book, revision)} --machine {proof.record.machine} --report NO "
        "--accept --by INITIALS"
    )
    words = f"first piece waiting since the prove-out by {by_words(book, proof.record)}"
    return [Owed(words=words, clears=command)], []


def _second_person(
    book: Book, proof: Entry[ProofRecord], revision: Entry[RevisionRecord]
) -> tuple[list[Owed], list[Stored], bool]:
    """What a second person owes, the countersign that answers it, and whether one person did both."""
    wrote = writers(book, revision)
    provers = people_of(proof.record)
    if not provers & wrote:
        return [], [], False
    seconds = [
        entry.stored
        for entry in book.countersigns
        if entry.record.proof == proof.stored.path
        and not people_of(entry.record) & (provers | wrote)
        and hands_had_role(book.ledger, entry.stored, "setup", "quality")
    ]
    if seconds:
        return [], seconds[:1], False
    if not book.policy.two_person:
        return [], [], True
    spelled = target_words(book, revision)
    both = proof.record.by if proof.record.by.casefold() in wrote else proof.record.entered_by
    did = "proved" if both == proof.record.by else "entered the proof"
    wrote_words = f"{both} {did} and wrote {revision_words(book, revision.stored.name)}"
    command = f'proveout countersign {spelled} --machine {proof.record.machine} --by INITIALS -m "why"'
    return [Owed(words=f"second person owed ({wrote_words})", clears=command)], [], False


def _remarks(proof: ProofRecord, same_person: bool) -> Iterator[str]:
    if same_person:
        yield "same person"
    if proof.prior is not None:
        yield "on paper, before the record"
    if proof.limits:
        yield f"limit: {proof.limits}"
    if entered_late(proof):
        yield "entered late"
