"""The facts of a report as JSON: the same as on the page, the ways as how far they reach."""

from typing import TYPE_CHECKING

from tracker.clock import utc_text
from tracker.reports.compare import as_json as compare_json
from tracker.reports.deviations import as_data
from tracker.reports.history import event_json
from tracker.reports.status import row_json

if TYPE_CHECKING:
    from tracker.services.report import JobReport, OperationReport
    from tracker.services.report_evidence import FileShown
    from tracker.services.report_path import Drawing
    from tracker.services.report_shop import ShopReport


def job_json(report: "JobReport") -> dict[str, object]:
    """A job."""
    return {
        "job": report.job,
        "title": report.title,
        "operations": [_operation(part) for part in report.operations],
        "deviations": [as_data(one) for one in report.deviations],
        "at": utc_text(report.at),
    }


def shop_json(report: "ShopReport") -> dict[str, object]:
    """The shop."""
    return {
        "shop": report.shop,
        "operations": [row_json(row) for job in report.jobs for row in job.rows],
        "due": [
            {
                "of": one.name,
                "machine": one.machine,
                "what": one.what,
                "day": one.day.isoformat() if one.day else None,
            }
            for one in report.due
        ],
        "deviations": [as_data(one) for one in report.deviations],
        "problems": list(report.problems),
        "at": utc_text(report.at),
    }


def _operation(part: "OperationReport") -> dict[str, object]:
    found = part.evidence
    return {
        "operation": part.operation,
        "revision": part.revision,
        "id": part.display_id,
        "released": part.released,
        "standings": [
            {"machine": one.machine, "standing": one.standing.state, "reason": one.standing.reason}
            for one in part.standings
        ],
        "against": {"revision": part.against.label, "why": part.against.why} if part.against else None,
        "compared": compare_json(part.compared) if part.compared else None,
        "paths": [_path(one) for one in part.drawings],
        "events": [event_json(one) for one in part.timeline],
        "evidence": [_file(one) for one in (*found.programs, *found.records)] if found else [],
        "notes": list(part.notes),
        "problem": part.problem,
    }


def _path(one: "Drawing") -> dict[str, object]:
    path = one.path
    return {
        "side": one.side,
        "file": one.file,
        "why_not": one.why or None,
        "feed": path.reach(rapid=False) if path else None,
        "rapid": path.reach(rapid=True) if path else None,
        "points": path.points if path else 0,
        "not_followed": list(path.not_followed) if path else [],
    }


def _file(one: "FileShown") -> dict[str, object]:
    return {
        "what": one.what,
        "file": one.path,
        "state": one.state,
        "sha256": one.sha256,
        "fingerprint": one.fingerprint,
    }
