"""Findings as a record keeps them, for people and as JSON."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tracker.policy.spelled import counted
from tracker.reports.table import wrapped

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.records.events import Finding, RevisionRecord

_ORDER = ("refuse", "warn", "info")


def finding_json(finding: "Finding") -> dict[str, object]:
    """A finding with its place."""
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "machine": finding.machine,
        "file": finding.file,
        "line": finding.line,
        "tool": finding.tool,
        "message": finding.message,
        "remedy": finding.remedy,
        "waived_by": finding.waived_by,
    }


def print_findings(console: "Console", findings: "Sequence[Finding]") -> None:
    """Each finding with its line and its remedy, the gravest first, what is waived last."""
    for finding in in_order(findings):
        _print_finding(console, finding)


def in_order(findings: "Sequence[Finding]") -> "list[Finding]":
    """The gravest first, what is waived last."""
    return sorted(findings, key=_place)


def _place(finding: "Finding") -> tuple[bool, int]:
    known = finding.severity in _ORDER
    return finding.waived_by is not None, _ORDER.index(finding.severity) if known else len(_ORDER)


def _print_finding(console: "Console", finding: "Finding") -> None:
    """``refuse: O1001.nc:12: ...`` with its remedy."""
    place = ":".join(str(part) for part in (finding.file, finding.line) if part is not None)
    where = f"{place}: " if place else ""
    on = f" ({finding.machine})" if finding.machine else ""
    fix = f" Remedy: {finding.remedy}." if finding.remedy and not finding.waived_by else ""
    mark = f"waived by {finding.waived_by}" if finding.waived_by else finding.severity
    wrapped(console, f"{mark}: {where}{finding.message}{on}.{fix} [{finding.rule}]", indent="  ")


def checked_words(record: "RevisionRecord") -> str:
    """What the checks said when the revision was checked in, in one line."""
    if record.checks_version is None:
        return "checks: none ran when it was checked in; only its calls were looked up"
    standing = [one.severity for one in record.findings if one.waived_by is None]
    waived = len(record.findings) - len(standing)
    found = ", ".join(f"{standing.count(name)} {name}" for name in _ORDER if name in standing)
    more = f", {counted(waived, 'finding')} waived" if waived else ""
    return f"checks: {found or 'no finding'}{more} (rules of version {record.checks_version})"
