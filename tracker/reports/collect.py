"""What came home on a stick, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.policy.find import label
from tracker.reports.collect_words import decisions, summary
from tracker.reports.show import kinds_words
from tracker.reports.table import print_table, say, visible, wrapped
from tracker.services.collect_remarks import change_words
from tracker.services.collect_report import BOTH, FINE, CollectReport, FileVerdict

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.checkin import CheckedIn

MOST_CHANGES = 20


def as_json(report: CollectReport) -> dict[str, object]:
    """``files`` with one verdict each; then what was taken in, where it is recorded, and what is to be decided.

    A file has ``unreleased``, ``hint``, ``effect`` and ``programs`` (of one that holds several) only where there is such a
    thing.
    """
    data: dict[str, object] = {
        "files": [_file_json(one) for one in report.files],
        "stick": report.stick,
        "notes": list(report.notes),
        "record": report.record,
        "summary": summary(report),
        "decisions": list(decisions(report)),
    }
    if report.not_recorded is not None:
        data["not_recorded"] = report.not_recorded
    if report.taken_in is not None:
        data["checked_in"] = [_checked_in_json(one) for one in report.taken_in.checked_in]
    return data


def print_text(report: CollectReport, console: "Console") -> None:
    """A table of all files, the changes of changed ones, then a summary, and what a person has to decide."""
    shown = [each for one in report.files for each in (one, *one.parts)]
    if shown:
        print_table(console, ("file", "verdict", "is", "what"), [_row(one) for one in shown], paths=True)
    else:
        say(console, "The stick is empty.")
    for one in report.programs:
        if one.edited:
            _print_changes(one, console)
        if one.effect is not None:
            from tracker.reports.effect import print_effect

            print_effect(one.effect, console)
    for one in report.programs:
        if one.hint is not None:
            wrapped(console, f"hint: {one.file}: {one.hint}")
    _print_taken_in(report, console)
    for note in report.notes:
        wrapped(console, f"note: {note}")
    if report.not_recorded is not None:
        wrapped(console, f"not recorded: {report.not_recorded}")
    wrapped(console, summary(report))
    for decision in decisions(report):
        wrapped(console, f"DECIDE: {decision}")


def _row(one: FileVerdict) -> tuple[str, str, str, str]:
    verdict = one.verdict if one.verdict in FINE else one.verdict.upper()
    return one.file, verdict, _spelled(one), one.message


def _print_taken_in(report: CollectReport, console: "Console") -> None:
    if report.taken_in is not None:
        for made in report.taken_in.checked_in:
            _print_checked_in(made, console)
    elif edited := {
        f"{one.job}/{one.operation}" for one in report.programs if one.edited and one.aside != BOTH
    }:
        name = visible(min(edited)) if len(edited) == 1 else "JOB/OP"
        say(console, f'To take an edit in: proveout collect DIR --checkin {name} --by INITIALS -m "why"')
        say(console, "The stick itself is not changed.")


def _print_changes(one: FileVerdict, console: "Console") -> None:
    say(console, f"{one.file}, was {_spelled(one)}:")
    for change in one.changes[:MOST_CHANGES]:
        wrapped(console, change_words(change), indent="  ")
    if len(one.changes) > MOST_CHANGES:
        say(console, f"  and {len(one.changes) - MOST_CHANGES} more")


def _print_checked_in(made: "CheckedIn", console: "Console") -> None:
    name = f"{made.record.job}/{made.record.operation} r{made.number} (id {made.text.display_id})"
    came = "; ".join(f"{label(origin.revision)}: {kinds_words(origin)}" for origin in made.record.origins)
    wrapped(console, f"{name} taken in, edited by {made.record.by}; from {came or 'nothing before'}.")


def _spelled(one: FileVerdict) -> str:
    return f"{one.job}/{one.operation} {one.revision or ''}".rstrip() if one.job else ""


def _file_json(one: FileVerdict) -> dict[str, object]:
    data: dict[str, object] = {
        "file": one.file,
        "verdict": one.verdict,
        "job": one.job,
        "operation": one.operation,
        "revision": one.revision,
        "kinds": list(one.kinds),
        "message": one.message,
    }
    if one.unreleased is not None:
        data["unreleased"] = one.unreleased
    if one.hint is not None:
        data["hint"] = one.hint
    if one.effect is not None:
        from tracker.reports.effect import effect_json

        data["effect"] = effect_json(one.effect)
    if one.parts:
        data["programs"] = [_file_json(part) for part in one.parts]
    return data


def _checked_in_json(made: "CheckedIn") -> dict[str, object]:
    return {
        "job": made.record.job,
        "operation": made.record.operation,
        "revision": f"r{made.number}",
        "kinds": sorted({kind for origin in made.record.origins for kind in origin.kinds}),
        "record": made.path,
    }
