"""A setup sheet on the screen and as JSON."""

from typing import TYPE_CHECKING

from tracker.clock import utc_text
from tracker.reports import sheet_findings
from tracker.reports import sheet_words as words
from tracker.reports.summary import figure, rounded
from tracker.reports.table import print_table, say, visible, wrapped

if TYPE_CHECKING:
    from tracker.reports.screen import Screen
    from tracker.services.sheet import SheetReport
    from tracker.services.sheet_since import Since
    from tracker.services.sheet_steps import SheetStep
    from tracker.services.sheet_tools import Figure, SheetTool


def as_json(report: "SheetReport") -> dict[str, object]:
    """Everything on the sheet; lengths in the operation's units, null for what is not stated or not known."""
    job, operation = report.job, report.operation
    return {
        "job": job.number,
        "operation": operation.id,
        "revision": report.label,
        "id": report.display_id,
        "machine": report.machine.id,
        "standing": report.standing.state,
        "reason": report.standing.reason,
        "clears": list(report.standing.clears),
        "released": report.release,
        "part": job.part,
        "name": job.name,
        "drawing": job.drawing,
        "drawing_revision": job.drawing_revision,
        "material": job.material,
        "units": operation.units,
        "fixture": operation.fixture,
        "clearance_z": operation.clearance_z,
        "max_rpm": operation.max_rpm,
        "programs": [
            {"file": file.name, "number": file.number, "id": file.fingerprint[:8].upper()}
            for file in report.files
        ],
        "offsets": [{"code": one.code, "origin": one.origin} for one in operation.offsets],
        "tools": [_tool_json(tool) for tool in report.tools],
        "since": None if report.since is None else _since_json(report.since),
        "list": report.steps.kind,
        "steps": [
            {"step": one.key, "title": one.title, "required": one.required} for one in report.steps.steps
        ],
        "findings": sheet_findings.as_json(report),
        "signed": report.signed,
        "remarks": list(words.remarks(report)),
        "cautions": words.cautions(report),
        "at": utc_text(report.at),
    }


def _tool_json(tool: "SheetTool") -> dict[str, object]:
    return {
        "tool": tool.number,
        "called": list(tool.called),
        "on_sheet": tool.on_sheet,
        "description": tool.description,
        "diameter": tool.diameter,
        "stick_out": tool.stick_out,
        "h": tool.h,
        "d": tool.d,
        "offset": tool.offset,
        "insert": tool.insert,
        "nose_radius": tool.nose_radius,
        "large": tool.large,
        "through_coolant": tool.through_coolant,
        "flute_length": tool.flute_length,
        "length": tool.length,
        "weight": tool.weight,
        "lowest_z": tool.lowest_z,
        "deepest": _figure_json(tool.deepest),
        "left": _figure_json(tool.left),
        "restarts": [{"line": line, "number": number} for line, number in tool.restarts],
        "disagreements": list(tool.disagreements),
    }


def _figure_json(found: "Figure") -> dict[str, object]:
    return {"value": rounded(found.value), "bound": found.bound or None, "why": found.why}


def _since_json(since: "Since") -> dict[str, object]:
    return {
        "revision": since.revision,
        "machine": since.machine,
        "by": since.by,
        "at": utc_text(since.at),
        "itself": since.itself,
        "kinds": list(since.kinds),
        "tools": "all" if since.tools is None else list(since.tools),
        "words": list(since.words),
        "why": since.why,
    }


def print_text(report: "SheetReport", console: "Screen") -> None:
    """The sheet at 80 columns."""
    title = f"Setup sheet {report.name} {report.label} on {report.machine.id}"
    say(console, visible(f"{title}   id {report.display_id}"))
    wrapped(console, words.standing_line(report), indent="  ")
    wrapped(console, words.release_line(report), indent="  ")
    for command in report.standing.clears:
        wrapped(console, f"to clear it: {command}", indent="  ")
    print_table(console, ("", ""), [*words.facts(report), ("revision", words.revision_words(report))])
    _print_programs(report, console)
    _print_tools(report, console)
    say(console, "", "Found at check-in")
    for line in sheet_findings.lines(report):
        wrapped(console, line, indent="  ")
    say(console, "", "Changed since the last proof here")
    for line in (*words.since_words(report), *words.kind_words(report)):
        wrapped(console, line, indent="  ")
    for line in words.remarks(report):
        wrapped(console, f"note: {line}")
    _print_steps(report, console)
    say(console, "")
    for caution in words.cautions(report):
        wrapped(console, caution)
    wrapped(console, words.printed(report))


def _print_programs(report: "SheetReport", console: "Screen") -> None:
    say(console, "")
    rows = [(words.o_number(file.number), file.fingerprint[:8].upper(), file.name) for file in report.files]
    print_table(console, ("O number", "id", "program"), rows)
    say(console, "")
    offsets = [(one.code, one.origin or words.NOT_STATED) for one in report.operation.offsets]
    print_table(console, ("offset", "origin"), offsets or [("-", "no work offset is stated")])


def _print_tools(report: "SheetReport", console: "Screen") -> None:
    units = report.operation.units
    lathe = report.machine.type == "lathe"
    say(console, "")
    entered = ("offset",) if lathe else ("H", "D")
    left = () if lathe else ("left",)
    last = f"tool ({units or 'units not stated'})"
    headers = ("tool", *entered, "dia", "stick-out", "deepest Z", *left, last)
    rows = [_tool_row(tool, units, lathe=lathe) for tool in report.tools]
    print_table(console, headers, rows, below=[_below(tool) for tool in report.tools])
    wrapped(console, words.figures_words(report))


def _tool_row(tool: "SheetTool", units: str | None, *, lathe: bool) -> list[str]:
    entered = (tool.offset,) if lathe else (tool.h, tool.d)
    return [
        tool.name,
        *("-" if one is None else str(one) for one in entered),
        figure(tool.diameter, units),
        figure(tool.stick_out, units),
        words.short_length(tool.deepest, units),
        *(() if lathe else (words.short_length(tool.left, units),)),
        tool.description or "",
    ]


def _below(tool: "SheetTool") -> list[str]:
    parts = [*words.warnings(tool), *words.marks(tool), *words.unknowns(tool), words.restart(tool)]
    return ["; ".join(part for part in parts if part)] if any(parts) else []


def _print_steps(report: "SheetReport", console: "Screen") -> None:
    say(console, "")
    if not report.steps.steps:
        wrapped(console, report.steps.title)
        return
    rows = [(f"[ ] {step.key}", words.step_words(step)) for step in report.steps.steps]
    print_table(console, ("", report.steps.title), rows, below=[_blanks(step) for step in report.steps.steps])


def _blanks(step: "SheetStep") -> list[str]:
    figure_blank = [f"    ________ {step.figure}"] if step.figure else []
    return figure_blank + (["    " + "  ".join(f"[ ] {tool}" for tool in step.tools)] if step.tools else [])
