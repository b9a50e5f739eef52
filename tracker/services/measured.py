"""``measured``: the measuring result of a first piece a proof waited for."""

from datetime import datetime

from tracker.errors import BadCall, Refused
from tracker.policy.find import struck
from tracker.policy.may import require
from tracker.records.events import MeasuredRecord, ProofRecord
from tracker.records.stored import Stored
from tracker.services.acted import Acted, record_for
from tracker.services.desk import Desk, acting, opening
from tracker.services.machine_named import machine_named
from tracker.services.naming import Named
from tracker.services.proofs_on import proofs_on
from tracker.services.prove_steps import ACCEPTED, WAITING
from tracker.services.recording import one_line
from tracker.services.target import Target, target


def measured(
    desk: Desk,
    named: Named,
    *,
    machine: str | None,
    by: str | None,
    report: str | None,
    result: str | None,
    reason: str | None = None,
    at: datetime | None = None,
) -> Acted:
    """Say what the measuring said; ``result`` is accepted or rejected.

    Raises:
        BadCall: unknown names, ``no-report``, ``no-result``.
        Refused: ``nothing-waiting``, ``wrong-role``, ``detached-head``, ``moved``.
    """
    found = target(desk, named)
    place = machine_named(found.shop, machine)
    person = acting(desk, found.shop, by)
    require(found.shop, person, "measured", desk.clock.now())
    said = one_line(report)
    if said is None:
        raise BadCall("no-report", "which measuring report?", fix="say its number with --report")
    if result is None:
        raise BadCall("no-result", "what did it say?", fix="say it with --accept or --reject")
    waiting = [pair for pair in proofs_on(found, place) if _waits(found, *pair)]
    if not waiting:
        raise Refused(
            "nothing-waiting",
            f"no first piece of {found.spelled} is waited for on {place.id}",
            fix="a proof waits for one when it was made with --first-piece waiting",
        )
    stored, proof = waiting[0]
    record = MeasuredRecord(
        job=proof.job,
        operation=proof.operation,
        revision=proof.revision,
        reason=one_line(reason),
        proof=stored.path,
        report=said,
        result=result,
        **opening(desk, person, at=at),
    )
    word = f"first piece on {place.id} {result}, report {said}"
    notes = () if result == ACCEPTED else ("the proof does not count; what was rejected stays rejected",)
    return record_for(desk, found, (record,), author=person, said=word, machines=(place,), notes=notes)


def _waits(found: Target, stored: Stored, proof: ProofRecord) -> bool:
    if proof.first_piece is None or proof.first_piece.result != WAITING or proof.result != ACCEPTED:
        return False
    gone = struck(found.ledger)
    return not any(
        isinstance(other.record, MeasuredRecord)
        and other.record.proof == stored.path
        and other.path not in gone
        for other in found.ledger.records
    )
