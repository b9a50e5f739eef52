"""Which older revision a report holds the reported one against, unless a person says so.

The released one, else the one the standing rests on, else the last other one with a full proof that counts, else the one
it came from. Each only if it is another revision.
"""

from collections.abc import Sequence

from tracker.errors import BadCall
from tracker.frozen import dataclass
from tracker.policy.find import by_name, find_revision, same_name
from tracker.policy.proofs import is_full, worth
from tracker.policy.standing import Judge
from tracker.records.events import ProofRecord, RevisionRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.naming import Named
from tracker.services.released import InRelease
from tracker.services.revision_text import shown_name
from tracker.services.standings import MachineStanding


@dataclass(frozen=True, slots=True, kw_only=True)
class Against:
    """The older revision, as shown, and why it is that one, in words."""

    stored: Stored
    label: str
    why: str


def against(
    judge: Judge,
    ledger: Ledger,
    named: Named,
    stored: Stored,
    standings: Sequence[MachineStanding],
    released: InRelease | None,
    older: Named | None,
) -> Against | None:
    """The older revision; None where there is none.

    Raises:
        BadCall: ``unknown-revision``, ``ambiguous-revision`` of the one a person named; ``wrong-call`` where it is the
            reported one.
    """
    if older is not None:
        wanted = Named(job=named.job, operation=named.operation, revision=older.revision, digits=older.digits)
        found = find_revision(ledger, wanted, named.operation or "")
        if found.name == stored.name:
            raise BadCall(
                "wrong-call",
                "--from and --to name the same revision",
                fix="name two revisions, older and newer",
            )
        return Against(stored=found, label=shown_name(found, ledger), why="as asked for")
    for candidate, why in _candidates(judge, ledger, named, stored, standings, released):
        if candidate is not None and candidate.name != stored.name:
            return Against(stored=candidate, label=shown_name(candidate, ledger), why=why)
    return None


def _candidates(
    judge: Judge,
    ledger: Ledger,
    named: Named,
    stored: Stored,
    standings: Sequence[MachineStanding],
    released: InRelease | None,
) -> list[tuple[Stored | None, str]]:
    """In the order they are taken."""
    job, operation = named.job, named.operation or ""
    found: list[tuple[Stored | None, str]] = []
    if released is not None:
        gone = ", which is withdrawn" if released.withdrawn is not None else ""
        found.append((released.revision, f"the one released last{gone}"))
    for one in standings:
        base = one.standing.base
        if base is not None:
            proved = by_name(ledger, job, operation, base.record.revision)
            found.append((proved, f"the one proved on {one.machine} that its standing rests on"))
    for proof in _full_proofs(judge, job, operation):
        proved = by_name(ledger, job, operation, proof.revision)
        found.append((proved, f"the last other one proved in full, on {proof.machine}"))
    if isinstance(stored.record, RevisionRecord):
        found += [
            (by_name(ledger, job, operation, origin.revision), "the one it came from")
            for origin in stored.record.origins
        ]
    return found


def _full_proofs(judge: Judge, job: str, operation: str) -> list[ProofRecord]:
    """Full proofs that count, the latest first; one that waits for somebody counts not yet."""
    book = judge.book(job)
    found = [
        one.record
        for one in book.proofs
        if is_full(one.record) and same_name(one.record.operation, operation) and worth(book, one).counts
    ]
    return sorted(found, key=lambda record: record.entered, reverse=True)
