"""What went on a stick, for people and as JSON."""

from collections import Counter
from typing import TYPE_CHECKING

from tracker.clock import utc_text
from tracker.policy.spelled import counted
from tracker.policy.states import standing_words
from tracker.reports.cautions import MOTION, PRINTED
from tracker.reports.table import print_table, say, wrapped
from tracker.reports.times import day, moment, zone
from tracker.services.call_in import CallIn
from tracker.services.export_report import MOST_UNKNOWN, ExportedFile, ExportedOperation, ExportReport
from tracker.services.placing import IN_THE_WAY, REPLACED, UNCHANGED, WRITTEN
from tracker.services.ports_stick import DEVIATION, FOR_PROVING
from tracker.services.prove_words import proving_words
from tracker.services.usable import LeftOut

if TYPE_CHECKING:
    from datetime import tzinfo

    from rich.console import Console


ACTIONS = {WRITTEN: "new", REPLACED: "updated", UNCHANGED: "same", IN_THE_WAY: "in the way"}
"""What people are told happens to a file, before and after; programs read the words on the left."""
_SAID = {FOR_PROVING: "UNPROVEN, for a prove-out only", DEVIATION: "NOT RELEASED, on a deviation"}


def as_json(report: ExportReport) -> dict[str, object]:
    """What went out and with what standing, what stayed behind and why, what must come off sticks."""
    return {
        "machine": report.machine,
        "stick": report.stick,
        "owner": report.owner,
        "folder": report.folder,
        "purpose": report.purpose,
        "dry_run": report.dry_run,
        "operations": [_operation_json(one) for one in report.operations],
        "files": [_file_json(one) for one in report.files],
        "papers": list(report.papers),
        "left_out": [_left_out_json(one) for one in report.left_out],
        "call_in": [_call_in_json(one) for one in report.call_in],
        "leaves": [{"file": one.path, "reason": one.why} for one in report.leaves],
        **(_mirror_json(report) if report.mirror else {}),
        "summary": summary(report),
        "decisions": list(report.decisions),
        "notes": list(report.notes),
        "at": utc_text(report.at),
        "until": utc_text(report.until),
        "record": report.record,
        "cautions": list(_cautions(report)),
    }


def print_text(report: ExportReport, console: "Console") -> None:
    """The programs, the standing each operation went out with, what stayed behind, what must come off."""
    tz = zone(report.zone)
    done = "Would be written" if report.dry_run else "Written"
    say(
        console,
        f"{done} for {report.machine} to {report.stick}, folder {report.folder}, {moment(report.at, tz)}:",
    )
    _print_files(report, console)
    for operation in report.operations:
        wrapped(
            console,
            f"{_spelled(operation)}: {standing_words(operation.state, operation.reason)}",
            indent="  ",
        )
        for note in operation.notes:
            wrapped(console, f"note: {note}", indent="    ")
    for file in report.files:
        for note in (*filter(None, [file.silent]), *file.notes):
            wrapped(console, f"{file.path}: {note}", indent="  ")
    _print_left_out(report, console)
    if report.call_in:
        say(console, "CALL IN - to come off the stick, and off the control:")
    for one in report.call_in:
        wrapped(console, f"{one.stick} {one.path}: {_call_in_words(one)}", indent="  ")
    for note in report.notes:
        wrapped(console, f"note: {note}")
    for paper in report.papers:
        wrapped(console, f"{paper}: {'would lie' if report.dry_run else 'lies'} beside them")
    wrapped(console, summary(report))
    for decision in report.decisions:
        wrapped(console, f"DECIDE: {decision}")
    wrapped(
        console, f"The list on the stick asks to be looked at again by {until_words(report, tz)}. {PRINTED}"
    )
    for caution in _cautions(report):
        wrapped(console, caution)


def summary(report: ExportReport) -> str:
    """What became of it in a sentence or two, to be read aloud."""
    counts = [(sum(one.action == action for one in report.files), ACTIONS[action]) for action in ACTIONS]
    told = ", ".join(f"{count} {word}" for count, word in counts if count)
    what = _SAID.get(report.purpose, "may run")
    said = f"{report.machine}, {report.stick}: {counted(len(report.files), 'program')} {what}"
    parts = [f"{said} ({told})" if told else said]
    if report.leaves:
        parts.append(f"{counted(len(report.leaves), 'file')} {'would leave' if report.dry_run else 'left'}")
    parts += [
        f"{counted(count, 'file')} kept {word}"
        for word, count in Counter(_first_word(one.unreleased) for one in report.stays).items()
    ]
    unknown = len(report.unknown) + report.outside.unknown
    if unknown:
        parts.append(f"{counted(unknown, 'file')} kept, unknown")
    if report.left_out:
        parts.append(f"{counted(len(report.left_out), 'operation')} left out")
    elsewhere = [one for one in report.call_in if one.stick != report.stick]
    if elsewhere:
        parts.append(f"{counted(len(elsewhere), 'file')} to call in from other sticks")
    asked = len(report.decisions)
    more = f"{counted(asked, 'thing')} to decide." if asked else "Nothing to decide."
    return f"{'Plan for ' if report.dry_run else ''}{', '.join(parts)}. {more}"


def _print_files(report: ExportReport, console: "Console") -> None:
    """The table: what is written, what leaves, of a mirror also what stays unknown."""
    rows = [
        (
            one.path,
            ACTIONS.get(one.action, one.action),
            ", ".join(one.users),
            one.revision,
            one.mark,
            _release(one),
        )
        for one in report.files
    ]
    rows += [(one.path, "leaves", "", "", "", "") for one in report.leaves]
    rows += [(one.path, "kept, changed", "", "", "", "") for one in report.changed]
    rows += [
        (one.path, "stays", f"{one.job}/{one.operation}", one.revision, "", _first_word(one.unreleased))
        for one in report.stays
    ]
    rows += [(one.path, "kept, a copy", "", "", "", "") for one in report.outside.copies]
    unknown = (*report.unknown[:MOST_UNKNOWN], *report.outside.strange)
    rows += [(path, "kept, unknown", "", "", "", "") for path in unknown]
    why = (
        [()] * len(report.files)
        + [(one.why,) for one in report.leaves]
        + [()] * len(report.changed)
        + [(one.why,) for one in report.stays]
        + [()] * len(report.outside.copies + unknown)
    )
    print_table(console, ("file", "", "operation", "rev", "id", "release"), rows, below=why)
    if report.more_unknown:
        wrapped(console, f"{report.more_unknown}, in no record: kept")
    for words in report.outside.counted:
        wrapped(console, words)
    if report.leaves:
        wrapped(console, "What leaves the stick may still be in the control: take it off there too.")


def _print_left_out(report: ExportReport, console: "Console") -> None:
    if report.left_out:
        say(console, "LEFT OUT:")
    for one in report.left_out:
        wrapped(console, one.spelled, indent="  ")
        for command in one.clears:
            wrapped(console, f"to clear it: {command}", indent="    ")


def _cautions(report: ExportReport) -> tuple[str, ...]:
    return (*proving_cautions(report), MOTION)


def proving_cautions(report: ExportReport) -> tuple[str, ...]:
    """What is said of a text that goes out unreleased, by how it stands; the empty tuple for a plain export."""
    if report.purpose not in (FOR_PROVING, DEVIATION):
        return ()
    return tuple(proving_words(report.machine, one.revision, one.state) for one in report.operations)


def _spelled(one: ExportedOperation) -> str:
    return f"{one.job}/{one.operation} {one.revision} (id {one.display_id})"


def _release(one: ExportedFile) -> str:
    return unreleased_word(one) if one.release is None else str(one.release)


def unreleased_word(one: ExportedFile) -> str:
    """``UNPROVEN`` or ``DEVIATION``, the first of the words that are said of it; empty for a released one."""
    return _first_word(one.unreleased or "")


def until_words(report: ExportReport, tz: "tzinfo") -> str:
    """Until when the list may be relied on: the day, of a deviation the hour too."""
    return (moment if report.purpose == DEVIATION else day)(report.until, tz)


def _first_word(unreleased: str) -> str:
    return unreleased.partition(" ")[0]


def _call_in_words(one: CallIn) -> str:
    what = f"{one.job}/{one.operation} {one.revision}" if one.job else "a program of ours"
    return f"{what}, {one.why}"


def _operation_json(one: ExportedOperation) -> dict[str, object]:
    return {
        "job": one.job,
        "operation": one.operation,
        "revision": one.revision,
        "release": one.release,
        "id": one.display_id,
        "standing": one.state,
        "reason": one.reason,
        "notes": list(one.notes),
    }


def _file_json(one: ExportedFile) -> dict[str, object]:
    return {
        "file": one.path,
        "action": one.action,
        "program": one.program,
        "job": one.job,
        "operation": one.operation,
        "revision": one.revision,
        "release": one.release,
        "id": one.mark,
        "used_by": list(one.users),
        "sha256": one.sha256,
        "notes": list(one.notes),
        "unreleased": one.unreleased,
        "not_in_text": one.not_in_text,
    }


def _mirror_json(report: ExportReport) -> dict[str, object]:
    """What a mirror leaves where it is."""
    there = report.outside
    return {
        "unknown": list(report.unknown),
        "stays": [
            {
                "file": one.path,
                "job": one.job,
                "operation": one.operation,
                "revision": one.revision,
                "unreleased": one.unreleased,
                "until": utc_text(one.until),
                "reason": one.why,
            }
            for one in report.stays
        ],
        "outside": {
            "copies": [{"file": one.path, "reason": one.why} for one in there.copies],
            "more_copies": there.more_copies,
            "unknown": list(there.strange),
            "more_unknown": there.more_strange,
            "not_looked_into": there.unread,
        },
    }


def _left_out_json(one: LeftOut) -> dict[str, object]:
    return {
        "job": one.job,
        "operation": one.operation,
        "revision": one.revision,
        "reason": one.why,
        "clears": list(one.clears),
    }


def _call_in_json(one: CallIn) -> dict[str, object]:
    return {
        "stick": one.stick,
        "file": one.path,
        "job": one.job,
        "operation": one.operation,
        "revision": one.revision,
        "reason": one.why,
    }
