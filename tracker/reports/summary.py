"""What a program does, as a table and as JSON; the form of one summary also serves the effect part of ``compare``."""

from typing import TYPE_CHECKING

from tracker.reports.cautions import MINUTES, RESTART
from tracker.reports.table import print_table, say, visible, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tracker.machining.summary import Range, Summary, ToolSummary
    from tracker.reports.screen import Screen
    from tracker.services.summary import SummaryReport

DIGITS = 6
"""Digits behind the point in JSON: below the least increment of any control, above the noise of figures."""
MOST_SHOWN = 20
HEADERS = ("tool", "deepest", "speed", "feed", "cut", "rapid", "min", "used")


def as_json(report: "SummaryReport") -> dict[str, object]:
    """The summary, with ``file``, ``of``, ``machine`` and ``id`` behind it."""
    named = {"file": report.file, "of": report.of, "machine": report.machine, "id": report.mark}
    return {**summary_json(report.summary), **named}


def summary_json(summary: "Summary") -> dict[str, object]:
    """One summary: lengths in program units, extents as ``[lowest, highest]``, null for what is not known."""
    return {
        "units": summary.units,
        "tools": [_tool_json(tool) for tool in summary.tools],
        "cutting_length": rounded(summary.cutting_length),
        "rapid_length": rounded(summary.rapid_length),
        "cutting_minutes": rounded(summary.cutting_minutes),
        "not_followed": list(summary.not_followed),
        "dwell_minutes": rounded(summary.dwell_minutes),
        "lathe": summary.lathe,
        "order": list(summary.order),
        "stops": [{"line": line, "word": word} for line, word in summary.stops],
        "calls": [{"program": number, "times": times} for number, times in summary.calls],
        "offsets_written": [{"line": line, "text": text} for line, text in summary.offsets_written],
        "blocks": summary.blocks,
        "guesses": list(summary.guesses),
    }


def _tool_json(tool: "ToolSummary") -> dict[str, object]:
    return {
        "tool": tool.tool,
        "description": tool.description,
        "h": list(tool.h),
        "d": list(tool.d),
        "offsets": list(tool.offsets),
        "rpm_max": rounded(tool.rpm_max),
        "feed_max": rounded(tool.feed_max),
        "x": _range_json(tool.x),
        "y": _range_json(tool.y),
        "z": _range_json(tool.z),
        "deepest_cut": rounded(tool.deepest_cut),
        "cutting_length": rounded(tool.cutting_length),
        "rapid_length": rounded(tool.rapid_length),
        "cutting_minutes": rounded(tool.cutting_minutes),
        "rpm_min": rounded(tool.rpm_min),
        "feed_min": rounded(tool.feed_min),
        "feed_mode": tool.feed_mode,
        "lowest_rapid": rounded(tool.lowest_rapid),
        "holes": tool.holes,
        "sections": tool.sections,
        "line": tool.line,
        "number": tool.number,
    }


def rounded(figure: float | None) -> float | None:
    """A figure with `DIGITS` digits behind the point; never minus nothing."""
    return None if figure is None else round(figure, DIGITS) + 0.0


def _range_json(span: "Range | None") -> list[float | None] | None:
    return None if span is None else [rounded(span[0]), rounded(span[1])]


def print_text(report: "SummaryReport", console: "Screen") -> None:
    """A row a tool, what it reaches under it; then the whole, what is written and called, what is not followed."""
    summary = report.summary
    say(console, visible(_title(report)))
    if summary.tools:
        rows = [_row(tool, summary) for tool in summary.tools]
        print_table(console, HEADERS, rows, below=[_below(tool, summary) for tool in summary.tools])
    for line in _whole(summary):
        wrapped(console, line)
    for guess in summary.guesses:
        wrapped(console, f"note: {guess}")
    named = summary.not_followed
    for text in named[:MOST_SHOWN]:
        wrapped(console, f"not followed: {text}")
    if len(named) > MOST_SHOWN:
        say(console, f"... and {len(named) - MOST_SHOWN} more not followed; --json lists them")
    wrapped(console, MINUTES)
    if any(tool.line for tool in summary.tools):
        wrapped(console, RESTART)


def _title(report: "SummaryReport") -> str:
    kind = "lathe" if report.summary.lathe else "mill"
    of = f" of {report.of} (id {report.mark})" if report.of else ""
    machine = f" on {report.machine}" if report.machine else ""
    return f"{report.file}{of}{machine}: {kind} program, {unit_words(report.summary.units)}"


def unit_words(units: str | None) -> str:
    """Units as said in a sentence."""
    return units or "units not stated"


def _row(tool: "ToolSummary", summary: "Summary") -> list[str]:
    used = [f"H{h}" if not summary.lathe else f"offset {h}" for h in tool.h]
    used += [f"D{d}" for d in tool.d] + list(tool.offsets)
    return [
        f"T{tool.tool}" if tool.tool else "none",
        figure(tool.deepest_cut, summary.units),
        between(tool.rpm_min, tool.rpm_max, digits=0),
        between(tool.feed_min, tool.feed_max, digits=3),
        figure(tool.cutting_length, summary.units),
        figure(tool.rapid_length, summary.units),
        minutes(tool.cutting_minutes),
        " ".join(used),
    ]


def _below(tool: "ToolSummary", summary: "Summary") -> list[str]:
    """What stands under the row of a tool."""
    spans = [
        f"{axis} {reach(span, summary.units)}"
        for axis, span in (("X", tool.x), ("Y", tool.y), ("Z", tool.z))
        if span is not None
    ]
    parts = [tool.description or "", ", ".join(spans)]
    if tool.holes:
        parts.append(f"{tool.holes} hole{'s' if tool.holes > 1 else ''}")
    if tool.line:
        parts.append(f"line {tool.line}" + (f" ({tool.number})" if tool.number else ""))
    return ["; ".join(part for part in parts if part)]


def reach(span: "Range", units: str | None) -> str:
    """``-0.5 to 4``, or one figure where both are the same."""
    low, high = figure(span[0], units), figure(span[1], units)
    return low if low == high else f"{low} to {high}"


def _whole(summary: "Summary") -> list[str]:
    """Sentences about the program as a whole."""
    least = "at least " if summary.not_followed else ""
    units = f" {summary.units}" if summary.units else ""
    cut, rapid = (
        figure(one, summary.units) + units for one in (summary.cutting_length, summary.rapid_length)
    )
    cutting, waiting = minutes(summary.cutting_minutes), minutes(summary.dwell_minutes)
    known = f"rapid {least}{rapid} as far as both ends are known"
    lines = [f"Cut {least}{cut}, {least}{cutting} min; waiting {waiting} min; {known}."]
    if summary.calls:
        lines.append(_listed("Calls", [f"O{number} x{times}" for number, times in summary.calls]))
    if summary.stops:
        lines.append(_listed("Stops", [f"{word} at line {line}" for line, word in summary.stops]))
    if summary.offsets_written:
        written = [f"{text} at line {line}" for line, text in summary.offsets_written]
        lines.append(_listed("Writes offsets", written))
    return lines


def _listed(what: str, items: "Sequence[str]") -> str:
    more = f", and {len(items) - MOST_SHOWN} more" if len(items) > MOST_SHOWN else ""
    return f"{what}: {', '.join(items[:MOST_SHOWN])}{more}."


def figure(value: float | None, units: str | None) -> str:
    """A length as shown: four digits behind the point in inches, three in millimetres."""
    return "-" if value is None else plain(value, 3 if units == "mm" else 4)


def minutes(value: float | None) -> str:
    """Minutes as shown."""
    return "-" if value is None else f"{value:.2f}"


def between(low: float | None, high: float | None, *, digits: int) -> str:
    """``3000``, or ``20-40`` where they differ."""
    if low is None or high is None:
        return "-"
    one, other = plain(low, digits), plain(high, digits)
    return one if one == other else f"{one}-{other}"


def plain(value: float, digits: int) -> str:
    """A figure without zeros at its end."""
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text
