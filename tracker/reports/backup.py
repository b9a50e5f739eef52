"""A backup that was made, and what a drill restored, for people and as JSON."""

from pathlib import PurePath
from typing import TYPE_CHECKING

from tracker.policy.spelled import counted
from tracker.reports.audit import as_json as audit_as_json
from tracker.reports.audit import print_text as print_audit
from tracker.reports.table import say, visible, wrapped

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.audit_report import AuditReport
    from tracker.services.backup import BackupReport


def as_json(report: "BackupReport") -> dict[str, object]:
    """The file, its digest, and how much it holds."""
    bundle = report.bundle
    return {
        "at": report.at,
        "file": bundle.path,
        "sha256": bundle.sha256,
        "bytes": bundle.size,
        "references": bundle.references,
        "words": report.words,
    }


def print_text(report: "BackupReport", console: "Console") -> None:
    """Where it is, that it was read back, and what to do with it."""
    bundle = report.bundle
    say(console, visible(bundle.path))
    wrapped(console, f"{counted(bundle.references, 'reference')}, {bundle.size:,} bytes; read back whole.")
    wrapped(console, f"How to restore it with plain git stands beside it in {report.words}.")
    wrapped(console, f'Try it now and then: proveout backup --drill "{bundle.path}"')


def drill_as_json(file: PurePath, report: "AuditReport") -> dict[str, object]:
    """What the audit of the restored record found."""
    return {"file": str(file), "restored": True, **audit_as_json(report)}


def print_drill(file: PurePath, report: "AuditReport", console: "Console") -> None:
    """What the audit of the restored record found."""
    say(console, visible(str(file)))
    broken = [one for one in report.problems if one.problem in ("release-not-derived", "damaged-object")]
    said = "every one of them was derived again" if not broken else "not all of them could be derived again"
    wrapped(console, f"Restored for a try: {counted(report.releases, 'release')}; {said}.")
    print_audit(report, console)
