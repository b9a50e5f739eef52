"""Deviations as every status opens with them, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.clock import utc_text
from tracker.policy.deviations import OVERDUE
from tracker.policy.find import label
from tracker.reports.times import moment, zone

if TYPE_CHECKING:
    from tracker.policy.deviations import Deviation


def sentence(one: "Deviation", timezone: str) -> str:
    """``DEVIATION OVERDUE: 4471/op10 r3 on MILL2 by ss, over since ...; a second person is owed``, and the reason."""
    record = one.record
    revision = label(record.revision) if record.revision else "?"
    loud = "DEVIATION OVERDUE" if one.state == OVERDUE else "DEVIATION"
    when = f"{'over since' if one.over else 'until'} {moment(one.ends, zone(timezone))}"
    if one.stopped is not None:
        loud, when = f"{loud} STOPPED", f"not to be run any more, {one.stopped}"
    lot = f", lot {record.lot}" if record.lot else ""
    said = f'{loud}: {record.job}/{record.operation} {revision} on {record.machine} by {record.by}{lot}, {when}: "{record.reason}"'
    if one.owing:
        call = f"proveout countersign {record.job}/{record.operation}@{revision} --machine {record.machine}"
        return f"{said}; a second person is owed: {call}"
    return f"{said}; {one.signed_by} stands behind it" if one.signed_by else said


def as_data(one: "Deviation") -> dict[str, object]:
    """One deviation as JSON."""
    record = one.record
    return {
        "job": record.job,
        "operation": record.operation,
        "revision": label(record.revision) if record.revision else None,
        "machine": record.machine,
        "lot": record.lot,
        "hours": record.hours,
        "by": record.by,
        "reason": record.reason,
        "at": utc_text(record.at),
        "ends": utc_text(one.ends),
        "state": one.state,
        "signed_by": one.signed_by,
        "stopped": one.stopped,
        "record": one.stored.path,
    }
