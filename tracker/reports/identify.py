"""What files are, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.reports.cautions import MOTION, NO_DIFFERENCE
from tracker.reports.table import say, visible, wrapped
from tracker.services.identify import CHANGED, KNOWN, Identified, IdentifyReport

if TYPE_CHECKING:
    from rich.console import Console


def as_json(report: IdentifyReport) -> dict[str, object]:
    """Every file: what it is, what is newer, whether it may run on the machine."""
    return {"machine": report.machine, "files": [_file_json(one) for one in report.files]}


def print_text(report: IdentifyReport, console: "Console") -> None:
    """A few lines a file: what it is, how it differs, what is newer, may it run here."""
    for one in report.files:
        say(console, visible(one.file))
        for line in _lines(one, report.machine):
            wrapped(console, line, indent="  ")
    if report.motion_may_follow:
        wrapped(console, MOTION)


def _lines(one: Identified, machine: str | None) -> list[str]:
    lines = []
    if one.job:
        was = "was " if one.identity == CHANGED else ""
        lines.append(f"{was}{one.job}/{one.operation} {one.revision}, id {one.display_id}, {one.program}")
    if one.identity == KNOWN:
        lines.append(_difference(one))
    elif one.identity == CHANGED and one.kinds:
        lines.append(f"code changed: {', '.join(one.kinds)}")
    if one.also:
        lines.append(f"the same text in {', '.join(one.also)}")
    if len(one.programs) > 1:
        lines.append(f"the operation runs {', '.join(one.programs)}")
    if one.newer:
        lines.append(f"newer: {', '.join(one.newer)}")
    if one.hint is not None:
        lines.append(f"hint: {one.hint}")
    verdict = "MAY RUN" if one.may_run else "MAY NOT RUN"
    lines.append(f"{verdict}{f' on {machine}' if machine else ''}: {one.why}")
    return lines


def _difference(one: Identified) -> str:
    if one.same_bytes:
        return "byte for byte the recorded text"
    how = f" Written differently: {', '.join(one.kinds)}." if one.kinds else ""
    return f"{NO_DIFFERENCE}{how}"


def _file_json(one: Identified) -> dict[str, object]:
    data: dict[str, object] = {
        "file": one.file,
        "identity": one.identity,
        "job": one.job,
        "operation": one.operation,
        "revision": one.revision,
        "id": one.display_id,
        "program": one.program,
        "same_bytes": one.same_bytes,
        "kinds": list(one.kinds),
        "newer": list(one.newer),
        "release": one.release,
        "may_run": one.may_run,
        "reason": one.why,
        "also": list(one.also),
        "programs": list(one.programs),
        "sha256": one.sha256,
        "dialect": one.dialect,
    }
    if one.hint is not None:
        data["hint"] = one.hint
    return data
