"""``countersign``: a second person stands behind a proof, or behind a deviation."""

from datetime import datetime

from tracker.errors import Refused
from tracker.policy.book import book_of
from tracker.policy.find import struck
from tracker.policy.may import require
from tracker.policy.writers import writers
from tracker.records.events import CountersignRecord
from tracker.records.stored import Stored
from tracker.services.acted import Acted, record_for
from tracker.services.countersign_deviation import deviation_owed, sign_deviation
from tracker.services.desk import Desk, acting, opening
from tracker.services.machine_named import machine_named
from tracker.services.naming import Named
from tracker.services.proofs_on import proofs_on
from tracker.services.prove_steps import ACCEPTED
from tracker.services.recording import reason_text
from tracker.services.target import Target, target


def countersign(
    desk: Desk,
    named: Named,
    *,
    machine: str | None,
    by: str | None,
    reason: str | None,
    at: datetime | None = None,
) -> Acted:
    """Stand behind the latest accepted proof of a revision on a machine that this person has not signed yet.

    A deviation of that revision there that owes a second person comes first; a proof whose
    prover wrote the text comes before one that owes nobody anything.

    Raises:
        BadCall: unknown names, ``no-reason``.
        Refused: ``nothing-to-countersign``, ``wrong-role`` (also for the prover and the writer), ``moved``.
    """
    found = target(desk, named)
    place = machine_named(found.shop, machine)
    person = acting(desk, found.shop, by)
    owed = deviation_owed(found, place, desk.clock.now())
    if owed is not None:
        return sign_deviation(desk, found, place, owed, person, reason=reason, at=at)
    accepted = [pair for pair in proofs_on(found, place) if pair[1].result == ACCEPTED]
    if not accepted:
        raise Refused(
            "nothing-to-countersign",
            f"there is no accepted proof of {found.spelled} on {place.id}",
            fix=f"prove it first: proveout prove {found.job}/{found.operation}@{found.label} --machine {place.id}",
        )
    wrote = _writers(desk, found)
    owing = [pair for pair in accepted if pair[1].by.casefold() in wrote]
    unsigned = [pair for pair in owing or accepted if not _signed(found, pair[0], person.initials)]
    stored, proof = (unsigned or owing or accepted)[0]
    require(found.shop, person, "countersign", desk.clock.now(), prover=proof.by, writers=wrote)
    if not unsigned:
        raise Refused(
            "nothing-to-countersign",
            f"{person.initials} has countersigned that proof already",
            fix=f"nothing is owed: proveout show {found.job}/{found.operation}@{found.label} lists who signed",
        )
    record = CountersignRecord(
        job=proof.job,
        operation=proof.operation,
        revision=proof.revision,
        reason=reason_text(reason, "why do you stand behind this proof?"),
        proof=stored.path,
        **opening(desk, person, at=at),
    )
    said = f"{person.initials} stands behind the proof by {proof.by} on {place.id}"
    notes = () if owing else ("no second person was owed",)
    return record_for(desk, found, (record,), author=person, said=said, machines=(place,), notes=notes)


def _writers(desk: Desk, found: Target) -> frozenset[str]:
    book = book_of(found.ledger, found.record.job, desk.clock.now())
    entry = book.revisions.get(found.stored.name)
    return writers(book, entry) if entry else frozenset()


def _signed(found: Target, proof: Stored, initials: str) -> bool:
    gone = struck(found.ledger)
    return any(
        isinstance(other.record, CountersignRecord)
        and other.record.proof == proof.path
        and other.record.by.casefold() == initials.casefold()
        and other.path not in gone
        for other in found.ledger.records
    )
