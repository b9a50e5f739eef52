"""Where a part came from, and who uses a program or a tool: for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.clock import utc_text
from tracker.policy.days import words as day_words
from tracker.policy.spelled import counted
from tracker.policy.states import standing_words
from tracker.reports.table import print_table, say, visible, wrapped
from tracker.reports.times import day, moment, zone
from tracker.services.where import LIMIT

if TYPE_CHECKING:
    from datetime import tzinfo

    from tracker.records.events import Origin
    from tracker.reports.screen import Screen
    from tracker.services.trace import Run, Seen, TraceReport
    from tracker.services.uses import ProgramUse, ProvenWith, ToolUse, UsesReport


def trace_json(report: "TraceReport") -> dict[str, object]:
    """``runs`` with all there is of each, ``gaps`` in words, ``nearest`` where no run is, what no record can know."""
    return {
        "asked": report.asked,
        "runs": [_run_json(one) for one in report.runs],
        "gaps": list(report.gaps),
        "nearest": [_seen_json(one) for one in report.nearest],
        "limit": LIMIT,
    }


def _run_json(run: "Run") -> dict[str, object]:
    record = run.record
    return {
        "day": run.day.isoformat(),
        "machine": record.machine,
        "job": record.job,
        "operation": record.operation,
        "revision": run.revision,
        "lot": record.lot,
        "quantity": record.quantity,
        "serials": list(record.serials),
        "by": record.by,
        "standing": run.standing,
        "reason": run.reason,
        "released": run.released,
        "since": {"standing": run.since.state, "reason": run.since.reason} if run.since else None,
        "origins": [_origin_json(*one) for one in run.origins],
        "proofs": [_seen_json(one) for one in run.proofs],
        "rests_on": [_seen_json(one) for one in run.rests_on],
        "sticks": [_seen_json(one) for one in run.sticks],
        "other_text": _seen_json(run.other) if run.other else None,
        "record": run.stored.path,
    }


def _origin_json(shown: str, origin: "Origin") -> dict[str, object]:
    tools = "all" if origin.sections is None else list(origin.sections)
    return {"revision": origin.revision, "shown": shown, "kinds": list(origin.kinds), "tools": tools}


def _seen_json(seen: "Seen") -> dict[str, object]:
    return {"at": utc_text(seen.at), "words": seen.words, "by": seen.by, "record": seen.record}


def print_trace(report: "TraceReport", console: "Screen") -> None:
    """A run after the other, each with what it rests on; then what the record does not hold."""
    tz = zone(report.timezone)
    for run in report.runs:
        _print_run(run, console)
        proofs = sorted((*run.proofs, *run.rests_on), key=lambda seen: seen.at)
        for seen in (*proofs, *run.sticks):
            _print_seen(seen, console, tz)
        if not run.proofs:
            wrapped(console, f"no proof of it on {run.record.machine} was recorded by then", indent="  ")
        if not run.sticks:
            wrapped(console, f"no export of it for {run.record.machine} was recorded by then", indent="  ")
        if run.other is not None:
            wrapped(console, "another text of the operation went there last:", indent="  ")
            _print_seen(run.other, console, tz)
    for gap in report.gaps:
        wrapped(console, visible(gap[:1].upper() + gap[1:] + "."))
    for seen in report.nearest:
        _print_seen(seen, console, tz)
    wrapped(console, LIMIT)


def _print_run(run: "Run", console: "Screen") -> None:
    """What was run, how it stood then and stands now, and how its text differs from the one before."""
    record = run.record
    pieces = None if record.quantity is None else counted(record.quantity, "piece")
    serials = f"serials {', '.join(record.serials)}" if record.serials else None
    said = ", ".join(filter(None, (record.lot and f"lot {record.lot}", pieces, serials)))
    place = f"{record.job}/{record.operation}"
    head = f"{place} {run.revision} on {record.machine}, {day_words(run.day)}, by {record.by}"
    wrapped(console, visible(head + (f": {said}" if said else "")))
    release = f"in release {run.released} that day" if run.released else "NOT RELEASED that day"
    wrapped(console, f"{standing_words(run.standing, run.reason)}; {release}", indent="  ")
    if run.since is not None:
        wrapped(console, f"TODAY {standing_words(run.since.state, run.since.reason)}", indent="  ")
    for shown, origin in run.origins:
        wrapped(console, f"differs from {shown} in {_difference(origin)}", indent="  ")
        wrapped(console, f"how: proveout compare {place}@{shown} {place}@{run.revision}", indent="  ")
    if not run.origins:
        say(console, "  the first revision in the record")


def _print_seen(seen: "Seen", console: "Screen", tz: "tzinfo") -> None:
    wrapped(console, f"{moment(seen.at, tz)}  {visible(seen.words)}, by {seen.by}", indent="  ")


def _difference(origin: "Origin") -> str:
    from tracker.policy.steps import tools_words

    kinds = ", ".join(origin.kinds) or "nothing in its code"
    tools = "all tools" if origin.sections is None else tools_words(origin.sections)
    return kinds + (f" ({tools})" if origin.kinds and tools else "")


# -- who uses a program, or a tool -----------------------------------------------------------------------------------


def uses_json(report: "UsesReport") -> dict[str, object]:
    """``uses``, a row an operation (and a machine it was proven on, or a tool), ``gaps`` in words, what no record can know."""
    rows = [*_program_rows(report), *map(_tool_json, report.tools)]
    return {"asked": report.asked, "uses": rows, "gaps": list(report.gaps), "limit": LIMIT}


def _program_rows(report: "UsesReport") -> list[dict[str, object]]:
    return [_program_json(use, proof) for use in report.programs for proof in use.proven or (None,)]


def _program_json(use: "ProgramUse", proof: "ProvenWith | None") -> dict[str, object]:
    return {
        "job": use.job,
        "operation": use.operation,
        "revision": use.revision,
        "path": use.path,
        "main": use.main,
        "fingerprint": use.fingerprint,
        "machine": proof.machine if proof else None,
        "proven": proof.revision if proof else None,
        "proven_at": utc_text(proof.at) if proof else None,
        "proven_by": proof.by if proof else None,
        "on_paper": proof.paper if proof else None,
        "proven_fingerprint": proof.fingerprint if proof else None,
        "same_code": proof.same if proof else None,
    }


def _tool_json(use: "ToolUse") -> dict[str, object]:
    return {
        "job": use.job,
        "operation": use.operation,
        "revision": use.revision,
        "machines": list(use.machines),
        "tool": use.tool,
        "description": use.description,
    }


def print_uses(report: "UsesReport", console: "Screen") -> None:
    """A table, what of it asks for a look, the sentence on what no record can know."""
    if report.tools:
        _print_tools(report, console)
    else:
        _print_programs(report, console)
    for gap in report.gaps:
        wrapped(console, visible(gap))
    wrapped(console, LIMIT)


def _proved(proof: "ProvenWith | None", tz: "tzinfo") -> str:
    if proof is None:
        return "never proved in full"
    paper = ", on paper, before the record" if proof.paper else ""
    return f"{proof.revision}, {day(proof.at, tz)} by {proof.by}{paper}"


def _same(proof: "ProvenWith | None") -> str:
    if proof is None:
        return "-"
    if proof.fingerprint is None:
        return "another text: it held no such program"
    return "this code" if proof.same else f"OTHER CODE {proof.fingerprint[:8]}"


def _print_tools(report: "UsesReport", console: "Screen") -> None:
    rows = [
        (
            f"{one.job}/{one.operation} {one.revision}",
            ", ".join(one.machines) or "-",
            f"T{one.tool}",
            visible(one.description),
        )
        for one in report.tools
    ]
    print_table(console, ("operation", "machines", "tool", "description"), rows)


def _print_programs(report: "UsesReport", console: "Screen") -> None:
    tz = zone(report.timezone)
    rows = [
        (
            f"{use.job}/{use.operation} {use.revision}",
            use.fingerprint[:8],
            proof.machine if proof else "-",
            _proved(proof, tz),
            _same(proof),
        )
        for use in report.programs
        for proof in use.proven or (None,)
    ]
    below = [(use.path,) for use in report.programs for _ in use.proven or (None,)]
    print_table(console, ("operation", "code now", "machine", "proven", "with"), rows, below=below)
    if report.texts > 1:
        wrapped(console, f"{report.asked}: {report.texts} different codes are in use.")
