"""What a check-in did or would do, and what is not checked in, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.nc.kinds import in_order
from tracker.reports.findings import finding_json, print_findings
from tracker.reports.show import origin_json, origin_words
from tracker.reports.table import print_table, say, visible, wrapped
from tracker.reports.verify import counted_words, not_computed_json

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.changed import ChangedOperation, ChangesReport
    from tracker.services.checkin import CheckedIn, CheckInReport
    from tracker.services.checkin_shop import ShopReport


def as_json(report: "CheckInReport") -> dict[str, object]:
    """``revisions`` made, ``unchanged`` operations, files committed without a revision; ``names`` if there are any."""
    data: dict[str, object] = {
        "revisions": [_revision(one) for one in report.checked_in],
        "unchanged": [f"{text.job.number}/{text.operation.id}" for text in report.unchanged],
        "only_text": list(report.only_text),
        "problems": list(report.problems),
        "dry_run": report.dry_run,
    }
    if report.names:
        data["names"] = list(report.names)
    return data


def print_text(report: "CheckInReport", console: "Console") -> None:
    """Each revision with where it came from and what was found; then what needed nothing."""
    for one in report.checked_in:
        _print_revision(console, one, dry_run=report.dry_run)
    for name in report.names:
        wrapped(console, f"note: {name}")
    for text in report.unchanged:
        say(console, f"{text.job.number}/{text.operation.id}: nothing to do, equal to the last byte")
    for path in report.only_text:
        verb = "would be kept" if report.dry_run else "kept"
        say(console, f"{visible(path)}: {verb}; nothing in it makes a revision")
    for problem in report.problems:
        wrapped(console, f"not looked at: {problem}")
    if not report.checked_in and not report.unchanged and not report.only_text:
        say(console, "Nothing to do.")


def _print_revision(console: "Console", one: "CheckedIn", *, dry_run: bool) -> None:
    name = f"{one.text.job.number}/{one.text.operation.id}"
    did = "would become" if dry_run else "is"
    say(console, f"{name} {did} r{one.number}   id {one.text.display_id}")
    if one.because:
        wrapped(console, f"because it uses {one.because}", indent="  ")
    for traced in one.traced:
        wrapped(console, f"from {origin_words(traced.origin)}", indent="  ")
    print_findings(console, one.record.findings)
    wrapped(console, counted_words(one.verified), indent="  ")
    for call in one.text.outside:
        wrapped(console, f"outside: {call.file}:{call.line}: {call.text} - {call.why}", indent="  ")
    for note in one.text.notes:
        wrapped(console, f"note: {note}", indent="  ")


def _revision(one: "CheckedIn") -> dict[str, object]:
    kinds = {kind for traced in one.traced for kind in traced.origin.kinds}
    data: dict[str, object] = {
        "job": one.text.job.number,
        "operation": one.text.operation.id,
        "revision": f"r{one.number}",
        "record": one.path,
        "id": one.text.display_id,
        "operation_fingerprint": one.text.fingerprint,
        "kinds": list(in_order(kinds)),
        "origins": [origin_json(traced.origin) for traced in one.traced],
        "findings": [finding_json(finding) for finding in one.record.findings],
        "not_computed": [not_computed_json(left) for left in one.verified.not_computed],
        "notes": list(one.text.notes),
        "programs": [program.path for program in one.text.programs],
    }
    if one.because:
        data["because"] = one.because
    return data


def changes_json(report: "ChangesReport") -> dict[str, object]:
    """``changed`` operations with their files."""
    return {
        "changed": [
            {
                "job": change.job.number,
                "operation": change.operation.id,
                "state": change.state,
                "files": list(change.files),
            }
            for change in report.changes
        ],
        "shop_changed": report.shop_changed,
        "problems": list(report.problems),
    }


def print_changes(report: "ChangesReport", console: "Console") -> None:
    """A table of what a check-in would take, and how to take it."""
    if report.changes:
        print_table(console, ("operation", "state", "files"), [_row(change) for change in report.changes])
        say(console, 'Take them in: proveout checkin JOB/OP -m "why", or --all for all of them.')
    else:
        say(console, "Nothing to check in.")
    if report.shop_changed:
        say(console, 'shop.toml was edited: proveout checkin shop.toml -m "why"')
    for problem in report.problems:
        wrapped(console, f"not looked at: {problem}")


def _row(change: "ChangedOperation") -> tuple[str, str, str]:
    return (f"{change.job.number}/{change.operation.id}", change.state, ", ".join(change.files))


def shop_json(report: "ShopReport") -> dict[str, object]:
    """Which tables of shop.toml changed."""
    return {
        "shop_changed": list(report.changed),
        "written": report.commit is not None,
        "dry_run": report.dry_run,
    }


def print_shop(report: "ShopReport", console: "Console") -> None:
    """The same for people."""
    if report.by is None:
        say(console, "shop.toml: nothing to do, equal to the last byte")
        return
    tables = ", ".join(report.changed) or "remarks only"
    say(
        console,
        f"shop.toml {'would be checked in' if report.dry_run else 'checked in'} by {report.by}: {tables}",
    )
