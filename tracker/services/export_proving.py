"""``export --for-proving``: one operation that is not proved yet, for its prove-out only.

It goes into a folder of its own and says ``(UNPROVEN - FOR PROVE-OUT ONLY)``, so that nobody takes it for a released
text. Taken are revisions that are unproven, lapsed, carried (to be proved in full) or rejected (to be tried again);
not what is held or withdrawn, and not what is proven: that is released and exported plainly.
"""

from datetime import timedelta

from tracker.errors import CouldNot, Refused
from tracker.policy.find import label
from tracker.policy.standing import standing
from tracker.policy.states import HELD, PROVEN, WITHDRAWN
from tracker.services.desk import Desk
from tracker.services.export_beside import ASK_AGAIN_DAYS, with_those_beside
from tracker.services.export_report import ExportedOperation, ExportReport
from tracker.services.export_write import finish, prepare
from tracker.services.naming import Named
from tracker.services.outbound import Destination, Outbound, outbound
from tracker.services.outgoing import of_revision
from tracker.services.ports_stick import FOR_PROVING, Outgoing
from tracker.services.recorded import recorded
from tracker.services.revision_text import job_path_of, revision_text
from tracker.services.usable import Board, Released


def export_for_proving(desk: Desk, to: Destination, named: Named) -> ExportReport:
    """Write one revision for its prove-out; the newest where none is named.

    Raises:
        BadCall: ``unknown-job``, ``unknown-revision``, ...; what `outbound` raises.
        Refused: ``not-for-machine``, ``held``, ``withdrawn``, ``already-proven``, and what a plain export refuses.
        CouldNot: ``damaged``: the text does not agree with its record.
    """
    out = outbound(desk, to, FOR_PROVING)
    released = revision_for(out, named)
    place = standing(out.ledger, released.stored, out.machine, out.now)
    if place.state in (HELD, WITHDRAWN):
        raise Refused(
            place.state,
            f"{released.spelled} is not proved on {out.machine.id}: {place.reason}",
            fix=next(iter(place.clears), None),
        )
    if place.state == PROVEN:
        raise Refused(
            "already-proven",
            f"{released.spelled} is proven on {out.machine.id}: {place.reason}",
            fix=f"release it, then: proveout export --machine {out.machine.id} --to DIR {released.job}",
        )
    programs = programs_of(out, released)
    operation = ExportedOperation(
        job=released.job,
        operation=released.operation.id,
        revision=label(released.stored.name),
        release=None,
        display_id=released.record.operation_fingerprint[:8].upper(),
        record=released.stored.name,
        state=place.state,
        reason=place.reason,
        notes=place.notes,
    )
    until = out.now + timedelta(days=ASK_AGAIN_DAYS)
    placing, report = prepare(out, programs, (operation,), until=until)
    return finish(out, placing, with_those_beside(out, placing, report))


def programs_of(out: Outbound, released: Released) -> list[Outgoing]:
    """The programs of a revision as recorded; raises CouldNot (``damaged``)."""
    programs, lost = of_revision(out.desk.repo, released)
    if lost:
        raise CouldNot(
            "damaged",
            f"the text of {released.spelled} does not agree with its record",
            where=lost[0],
            fix="run proveout audit",
            reasons=tuple(lost[1:]),
        )
    return programs


def revision_for(out: Outbound, named: Named) -> Released:
    """The revision as something that can go out; raises Refused (``not-for-machine``)."""
    found = recorded(out.desk, named, out.ledger)
    text = revision_text(out.desk.repo, found.stored)
    if text.operation is None:
        raise CouldNot(
            "damaged", "its job.toml cannot be read back", where=text.job_path, fix="run proveout audit"
        )
    machines = Board(out.desk, out.ledger).machines(found.job, found.operation) or text.operation.machines
    if out.machine.id.casefold() not in {machine.casefold() for machine in machines}:
        raise Refused(
            "not-for-machine",
            f"{found.job}/{found.operation} is for {', '.join(machines) or 'no machine'}, not for {out.machine.id}",
            fix="name the machine in job.toml and check that in, or choose another machine",
        )
    return Released(
        job=found.job,
        job_path=job_path_of(found.stored),
        operation=text.operation,
        release=0,
        commit=found.stored.commit,
        stored=found.stored,
        record=text.record,
    )
