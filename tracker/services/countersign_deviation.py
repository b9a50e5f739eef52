"""A second person stands behind a deviation: what was let run in an emergency is answered for afterwards."""

from collections.abc import Collection
from datetime import datetime

from tracker.errors import Refused
from tracker.policy.deviations import Deviation, deviations
from tracker.policy.find import same_name
from tracker.policy.may import require
from tracker.records.events import CountersignRecord
from tracker.records.shop import Machine, Person
from tracker.services.acted import Acted, record_for
from tracker.services.desk import Desk, opening
from tracker.services.recording import reason_text
from tracker.services.target import Target


def deviation_owed(found: Target, machine: Machine, now: datetime) -> Deviation | None:
    """The deviation of that revision on the machine that owes a second person, the most overdue first."""
    record = found.record
    return next(
        (
            one
            for one in deviations(found.ledger, now)
            if one.owing
            and one.record.revision == found.stored.name
            and same_name(one.record.job, record.job)
            and same_name(one.record.operation, record.operation)
            and same_name(one.record.machine, machine.id)
        ),
        None,
    )


def sign_deviation(
    desk: Desk,
    found: Target,
    machine: Machine,
    owed: Deviation,
    person: Person,
    *,
    reason: str | None,
    at: datetime | None,
) -> Acted:
    """Record it; raises Refused (``wrong-role``) for who made it or entered it, BadCall (``no-reason``)."""
    made = {owed.record.by, owed.record.entered_by or owed.record.by}
    require(found.shop, person, "countersign", desk.clock.now(), prover=owed.record.by)
    if _among(person.initials, made):
        raise Refused(
            "wrong-role",
            f"{person.initials} entered this deviation and cannot be its second person",
            fix="somebody else with role setup or quality stands behind it",
        )
    record = CountersignRecord(
        job=found.record.job,
        operation=found.record.operation,
        revision=found.stored.name,
        reason=reason_text(reason, "why do you stand behind this deviation?"),
        proof=owed.stored.path,
        **opening(desk, person, at=at),
    )
    said = f"{person.initials} stands behind the deviation by {owed.record.by} on {machine.id}"
    return record_for(desk, found, (record,), author=person, said=said, machines=(machine,))


def _among(initials: str, people: Collection[str]) -> bool:
    return any(same_name(initials, one) for one in people)
