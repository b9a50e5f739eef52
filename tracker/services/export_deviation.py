"""``export --deviation``: a text that has no standing, to one machine, in an emergency, for some hours.

Loud and owed: a reason in a sentence, a folder and a stamp of its own, a line on top of every status until its hours
are over and a second person stands behind it. Never a release, and never what quality stopped: held, withdrawn and
rejected texts stay where they are.
"""

from dataclasses import dataclass
from datetime import timedelta

from tracker.errors import BadCall, Refused
from tracker.policy.deviations import LEAST_REASON
from tracker.policy.find import label
from tracker.policy.standing import standing
from tracker.policy.states import HELD, REJECTED, WITHDRAWN, Standing
from tracker.records.events import DeviationRecord
from tracker.records.places import job_folder
from tracker.services.desk import Desk, opening
from tracker.services.export_beside import with_those_beside
from tracker.services.export_proving import programs_of, revision_for
from tracker.services.export_report import ExportedOperation, ExportReport
from tracker.services.export_write import finish, prepare
from tracker.services.naming import Named
from tracker.services.outbound import Destination, Outbound, outbound
from tracker.services.ports_stick import DEVIATION
from tracker.services.usable import Board, Released


@dataclass(frozen=True, slots=True, kw_only=True)
class Emergency:
    """Why, for how long and for which lot: ``hours`` None for what the policy allows."""

    reason: str | None
    hours: int | None = None
    lot: str | None = None


def export_deviation(desk: Desk, to: Destination, named: Named, why: Emergency) -> ExportReport:
    """Write one revision for an emergency; the newest where none is named.

    Raises:
        BadCall: ``no-reason`` (too short a one too), ``deviation-hours``, what `outbound` raises, unknown names.
        Refused: ``no-deviations`` where policy allows none, ``held``, ``withdrawn``, ``rejected``, ``may-run`` where
            none is needed, ``not-for-machine``, and what a plain export refuses.
        CouldNot: ``damaged``: the text does not agree with its record.
    """
    out = outbound(desk, to, DEVIATION)
    hours = _hours(out.ledger.shop.policy.deviation_hours, why.hours)
    reason = _reason(why.reason)
    released = revision_for(out, named)
    place = standing(out.ledger, released.stored, out.machine, out.now)
    _allowed(out, released, place)
    record = DeviationRecord(
        job=released.job,
        operation=released.operation.id,
        revision=released.stored.name,
        reason=reason,
        machine=out.machine.id,
        hours=hours,
        lot=" ".join((why.lot or "").split()) or None,
        operation_fingerprint=released.record.operation_fingerprint,
        **opening(desk, out.person),
    )
    operation = ExportedOperation(
        job=released.job,
        operation=released.operation.id,
        revision=label(released.stored.name),
        release=None,
        display_id=released.record.operation_fingerprint[:8].upper(),
        record=released.stored.name,
        state=place.state,
        reason=place.reason,
        notes=(f"deviation for {hours} h: {reason}", *place.notes),
    )
    until = out.now + timedelta(hours=hours)
    placing, report = prepare(out, programs_of(out, released), (operation,), until=until)
    report = with_those_beside(out, placing, report)
    return finish(out, placing, report, (record,), job_folder=job_folder(released.stored.path))


def _hours(most: int, asked: int | None) -> int:
    """The hours it lasts; raises Refused (``no-deviations``), BadCall (``deviation-hours``)."""
    if most <= 0:
        raise Refused(
            "no-deviations",
            "this shop lets no text run without standing (deviation_hours = 0)",
            fix="prove it on the machine: proveout export --for-proving",
        )
    hours = most if asked is None else asked
    if not 1 <= hours <= most:
        raise BadCall(
            "deviation-hours",
            f"a deviation lasts 1 to {most} hours here, not {hours}",
            fix=f"say --hours {most} or fewer",
        )
    return hours


def _reason(text: str | None) -> str:
    said = " ".join((text or "").split())
    if len(said) < LEAST_REASON:
        raise BadCall(
            "no-reason",
            f"why does it have to run now? At least {LEAST_REASON} characters: a second person has to stand behind it",
            fix='say it with -m "..."',
        )
    return said


def _allowed(out: Outbound, released: Released, place: Standing) -> None:
    if place.state in (HELD, WITHDRAWN, REJECTED):
        raise Refused(
            place.state,
            f"{released.spelled} was stopped on {out.machine.id}, and a deviation does not go over that: {place.reason}",
            fix=next(iter(place.clears), None),
        )
    current = Board(out.desk, out.ledger).released(released.job, released.operation.id)
    if place.usable and current is not None and current.stored.name == released.stored.name:
        raise Refused(
            "may-run",
            f"{released.spelled} is released and may run on {out.machine.id}: no deviation is needed",
            fix=f"proveout export --machine {out.machine.id} --to DIR {released.job}",
        )
