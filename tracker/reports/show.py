"""One revision, for people and as JSON."""

from dataclasses import fields
from typing import TYPE_CHECKING

from tracker.clock import utc_text
from tracker.nc.kinds import in_order
from tracker.policy.states import standing_words
from tracker.reports.findings import checked_words, finding_json, print_findings
from tracker.reports.table import print_table, say, visible, wrapped
from tracker.reports.times import moment, zone
from tracker.services.revision_text import before_words

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.records.events import Before, FileOf, Origin, Outside
    from tracker.services.show import ProofShown, ShowReport


def as_json(report: "ShowReport") -> dict[str, object]:
    """Everything the record says, and what was said about it since."""
    record = report.record
    return {
        "job": report.job,
        "operation": report.operation,
        "revision": report.label,
        "newest": report.is_newest,
        "record": report.stored.path,
        "record_sha256": report.stored.sha256,
        "id": record.operation_fingerprint[:8].upper(),
        "operation_fingerprint": record.operation_fingerprint,
        "sheet_fingerprint": record.sheet_fingerprint,
        "rule_version": record.rule_version,
        "strict": record.strict,
        "at": utc_text(record.at),
        "entered": utc_text(record.entered),
        "by": record.by,
        "entered_by": record.entered_by,
        "reason": record.reason,
        "post": record.post,
        "files": [_fields(file) for file in record.files],
        "lost": list(report.text.lost),
        "origins": [origin_json(origin) for origin in record.origins],
        "checks_version": record.checks_version,
        "findings": [finding_json(finding) for finding in record.findings],
        "waivers": [dict(waiver) for waiver in record.waivers],
        "outside": [_fields(call) for call in record.outside],
        "signed": report.signed,
        **({"before": _before(record.before)} if record.before is not None else {}),
        **_since(report),
    }


def _before(before: "Before") -> dict[str, object]:
    """Where a text of before the record lies, and who is said to have written it."""
    return {"commit": before.commit, "author": before.author, "email": before.email}


def _since(report: "ShowReport") -> dict[str, object]:
    """What was recorded about the revision later, and how it stands today."""
    return {
        "proofs": [_proof_json(proof) for proof in report.proofs],
        "reviews": [
            {
                "record": one.path,
                "by": one.record.by,
                "at": utc_text(one.record.at),
                "reason": one.record.reason,
            }
            for one in report.reviews
        ],
        "standings": [
            {"machine": one.machine, "standing": one.standing.state, "reason": one.standing.reason}
            for one in report.standings
        ],
    }


def _fields(noun: "FileOf | Outside") -> dict[str, object]:
    """A noun of the record by its own keys."""
    return {field.name: getattr(noun, field.name) for field in fields(noun)}


def origin_json(origin: "Origin") -> dict[str, object]:
    """An origin as in the record: ``sections`` a list of tools, or ``"all"``."""
    data: dict[str, object] = {
        "revision": origin.revision,
        "kinds": list(origin.kinds),
        "sections": "all" if origin.sections is None else list(origin.sections),
    }
    if origin.slower is not None:
        data["slower"] = origin.slower
    return data


def print_text(report: "ShowReport", console: "Console") -> None:
    """The revision, its programs, where it came from, what was found and what was proved."""
    record = report.record
    tz = zone(report.timezone)
    newest = "" if report.is_newest else "   (there is a newer one)"
    say(console, f"{report.job}/{report.operation} {report.label}{newest}")
    say(console, f"  id        {record.operation_fingerprint[:8].upper()}")
    entered = f", entered by {record.entered_by}" if record.entered_by else ""
    if record.before is not None:
        say(console, f"  {visible(before_words(record.before))}, {moment(record.at, tz)}")
        say(console, f"  taken over by {record.by}, {moment(record.entered, tz)}")
    else:
        say(console, f"  by        {record.by}{entered}, {moment(record.at, tz)}")
    say(console, f"  reason    {visible(record.reason or '')}")
    if record.post:
        say(console, f"  post      {visible(record.post)}")
    say(console, f"  record    {visible(report.stored.path)}")
    if report.signs:
        say(console, f"  signature {report.signed}")
    rows = [(file.path, file.dialect, file.fingerprint[:8].upper()) for file in record.files]
    print_table(console, ("program", "language", "id"), rows)
    for path in report.text.lost:
        say(console, f"  LOST: {visible(path)} cannot be read back as it was recorded")
    for origin in record.origins:
        wrapped(console, f"from {origin_words(origin)}", indent="  ")
    print_findings(console, record.findings)
    say(console, f"  {checked_words(record)}")
    for call in record.outside:
        wrapped(console, f"outside: {call.file}:{call.line}: {call.text} - {call.why}", indent="  ")
    for proof in report.proofs:
        words = _proof_words(proof, moment(proof.record.at, tz))
        wrapped(console, f"{words}; {proof.signed}" if report.signs else words, indent="  ")
    for review in report.reviews:
        words = (
            f"desk review by {review.record.by}, {moment(review.record.at, tz)}: {review.record.reason or ''}"
        )
        wrapped(console, words, indent="  ")
    for one in report.standings:
        words = standing_words(one.standing.state, one.standing.reason)
        wrapped(console, f"{one.machine}: {words}", indent="  ")


def origin_words(origin: "Origin") -> str:
    """``r0002-7f3a09c2: numbering, feed (T4), slowest 0.833 of what it was``."""
    return f"{origin.revision}: {kinds_words(origin)}"


def kinds_words(origin: "Origin") -> str:
    """``numbering, feed (T4), slowest 0.833 of what it was``."""
    kinds = ", ".join(in_order(set(origin.kinds))) or "no kind of change"
    tools = "all tools" if origin.sections is None else ", ".join(f"T{tool}" for tool in origin.sections)
    slower = f", slowest {origin.slower:g} of what it was" if origin.slower is not None else ""
    return f"{kinds}{f' ({tools})' if tools else ''}{slower}"


def _proof_words(proof: "ProofShown", at: str) -> str:
    record = proof.record
    part = f" of {', '.join(f'T{tool}' for tool in record.tools)}" if record.tools else ""
    words = f"proof{part} on {record.machine} by {record.by}, {at}: {record.result}"
    if record.first_piece is not None:
        measured = f", measured {proof.measured}" if proof.measured else ""
        words += f"; first piece {record.first_piece.report or ''} {record.first_piece.result}{measured}"
    if record.limits:
        words += f"; limited to {record.limits}"
    if proof.countersigned:
        words += f"; countersigned by {', '.join(proof.countersigned)}"
    return ("STRUCK: " if proof.struck else "") + words


def _proof_json(proof: "ProofShown") -> dict[str, object]:
    record = proof.record
    first = record.first_piece
    return {
        "record": proof.stored.path,
        "machine": record.machine,
        "by": record.by,
        "at": utc_text(record.at),
        "result": record.result,
        "cause": record.cause,
        "tools": list(record.tools),
        "first_piece": None
        if first is None
        else {"report": first.report, "by": first.by, "result": first.result},
        "measured": proof.measured,
        "limits": record.limits,
        "countersigned": list(proof.countersigned),
        "struck": proof.struck,
        "signed": proof.signed,
    }
