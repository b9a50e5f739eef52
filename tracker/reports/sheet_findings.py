"""Findings on a setup sheet: what the checks said at check-in, what stands first, what is waived with reason and initials.

A sheet has two pages at most, so of each kind the first few are told and the rest counted.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from tracker.reports.findings import checked_words, finding_json, in_order

if TYPE_CHECKING:
    from tracker.records.events import Finding, RevisionRecord
    from tracker.services.sheet import SheetReport

_MOST = 6


def of_machine(report: "SheetReport") -> "list[Finding]":
    """The findings that count on the sheet's machine, the gravest first, what is waived last."""
    here = report.machine.id.lower()
    return [one for one in in_order(report.record.findings) if (one.machine or here).lower() == here]


def as_json(report: "SheetReport") -> list[dict[str, object]]:
    """Each finding with its place, and the reason of its waiver."""
    return [finding_json(one) | {"reason": _reason(report.record, one) or None} for one in of_machine(report)]


def lines(report: "SheetReport") -> list[str]:
    """What the checks said in one line, then a line a finding."""
    found = of_machine(report)
    standing = [_standing(one) for one in found if one.waived_by is None]
    waived = [_waived(report.record, one) for one in found if one.waived_by is not None]
    return [
        checked_words(report.record),
        *_first(standing, "more that stand", report),
        *_first(waived, "more that are waived", report),
    ]


def _first(told: Sequence[str], more: str, report: "SheetReport") -> Iterator[str]:
    yield from told[:_MOST]
    if len(told) > _MOST:
        yield f"{len(told) - _MOST} {more}: proveout show {report.name}@{report.label}"


def _standing(finding: "Finding") -> str:
    return f"{finding.severity}: {_place(finding)}{finding.message}. [{finding.rule}]"


def _waived(record: "RevisionRecord", finding: "Finding") -> str:
    reason = _reason(record, finding)
    said = f": {reason}" if reason else ""
    return f"waived by {finding.waived_by}{said}. {_place(finding)}{finding.message}. [{finding.rule}]"


def _place(finding: "Finding") -> str:
    name = (finding.file or "").rpartition("/")[2]
    return f"{name}:{finding.line}: " if name and finding.line else f"{name}: " if name else ""


def _reason(record: "RevisionRecord", finding: "Finding") -> str:
    """The reason of the waiver that lets it stand; of several of one rule that of its tool, else of a line."""
    if finding.waived_by is None:
        return ""
    own = [one for one in record.waivers if _speaks_for(one, finding)]
    by_tool = [one for one in own if one.get("tool") is not None]
    return str((by_tool or own)[0].get("reason", "")) if own else ""


def _speaks_for(waiver: Mapping[str, object], finding: "Finding") -> bool:
    tool = waiver.get("tool")
    same_rule = str(waiver.get("rule", "")).lower() == finding.rule
    return same_rule and waiver.get("by") == finding.waived_by and (tool is None or str(tool) == finding.tool)
