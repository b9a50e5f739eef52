"""What the checks found, for people and as JSON; and the list of all rules."""

import re
from typing import TYPE_CHECKING

from tracker.checks.finding import SEVERITIES, Finding, NotComputed
from tracker.checks.registry import FAMILIES
from tracker.reports.table import say, visible, wrapped

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.verify import VerifyReport
    from tracker.services.verifying import Verified

_MOST_REASONS = 6
_NOT_STATED = re.compile(r"(?P<what>(?:(?! is not stated).)+) is not stated(?P<sheet> on the setup sheet)?")
_SAME = {"top of the stock": "stock top"}


def as_json(report: "VerifyReport") -> dict[str, object]:
    """Every finding and every check that could not be computed."""
    return {
        "findings": [_finding_json(finding) for one in report.operations for finding in one.findings],
        "not_computed": [not_computed_json(left) for one in report.operations for left in one.not_computed],
    }


def _finding_json(finding: Finding) -> dict[str, object]:
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "operation": finding.operation,
        "machine": finding.machine,
        "file": finding.file,
        "line": finding.line,
        "tool": finding.tool,
        "message": finding.message,
        "remedy": finding.remedy,
        "waived": finding.waived is not None,
    }


def not_computed_json(left: NotComputed) -> dict[str, object]:
    """A check that could not be computed, with its place."""
    return {
        "rule": left.rule,
        "why": left.why,
        "operation": left.operation,
        "machine": left.machine,
        "file": left.file,
        "line": left.line,
    }


def print_text(report: "VerifyReport", console: "Console") -> None:
    """An operation after the other: findings with their remedies, what was not computed, and how many checks."""
    for one in report.operations:
        _print_operation(one, console)


def _print_operation(one: "Verified", console: "Console") -> None:
    where = f" on {', '.join(one.machines)}" if one.machines else ", for no machine in particular"
    say(console, f"{one.job}/{one.operation}{where}   id {one.mark}")
    for machines, finding in _merged(one):
        _print_finding(console, finding, machines if len(one.machines) > 1 else ())
    for waiver in one.unused:
        whom = f"T{waiver.tool}" if waiver.tool is not None else visible(waiver.line or "")
        wrapped(console, f"note: the waiver of {waiver.rule} for {whom} meets no finding", indent="  ")
    wrapped(console, counted_words(one), indent="  ")


def _merged(one: "Verified") -> list[tuple[tuple[str, ...], Finding]]:
    """Findings that say the same for several machines, once; the gravest first."""
    met: dict[tuple[object, ...], tuple[list[str], Finding]] = {}
    for finding in one.findings:
        key = (finding.rule, finding.file, finding.line, finding.message, finding.waived)
        machines, _ = met.setdefault(key, ([], finding))
        machines += [finding.machine] if finding.machine else []
    order = {severity: at for at, severity in enumerate(SEVERITIES)}
    rows = [(tuple(machines), finding) for machines, finding in met.values()]
    return sorted(rows, key=lambda row: (row[1].waived is not None, order[row[1].severity]))


def _print_finding(console: "Console", finding: Finding, machines: tuple[str, ...]) -> None:
    place = ":".join(str(part) for part in (finding.file, finding.line) if part is not None)
    mark = "waived" if finding.waived else finding.severity
    on = f" ({', '.join(machines)})" if machines else ""
    wrapped(console, f"{mark:7} {place}: {finding.message}{on}. [{finding.rule}]", indent="  ")
    if finding.waived:
        wrapped(console, f"{finding.waived.by}: {finding.waived.reason}", indent="          ")
        return
    if finding.text.strip():
        say(console, f"          {visible(finding.text.strip())[:100]}")
    wrapped(console, f"remedy: {finding.remedy}", indent="          ")


def counted_words(one: "Verified") -> str:
    """``No finding from 31 checks; 4 not computed (why).``; never more than that."""
    rules = {item.rule for item in one.not_computed}
    reasons = [f"{why}: {_names(names)}" for why, names in _by_reason(one).items()]
    more = len(reasons) - _MOST_REASONS
    shown = "; ".join(reasons[:_MOST_REASONS]) + (f"; and {more} more" if more > 0 else "")
    told = [finding for _, finding in _merged(one)]  # what two machines share is one finding, as it is listed
    waived = sum(1 for finding in told if finding.waived)
    count = len(told) - waived
    found = "No finding" if not count else "One finding" if count == 1 else f"{count} findings"
    stand = f" ({waived} waived)" if waived else ""
    rest = f"{len(rules)} not computed ({shown})" if rules else "0 not computed"
    return f"{found}{stand} from {one.done} checks; {rest}."


def _by_reason(one: "Verified") -> dict[str, set[str]]:
    """Rules by why they were not computed; all the setup sheet, or a machine, leaves out is one reason."""
    left: dict[tuple[str, str], set[str]] = {}
    missing: dict[str, dict[str, None]] = {}
    for item in one.not_computed:
        whose, what = _not_stated(item)
        if whose:
            missing.setdefault(whose, {})[what] = None
        left.setdefault((whose, "" if whose else item.why), set()).add(item.rule)
    return {
        f"{whose} states no {', '.join(missing[whose])}" if whose else why: left[whose, why]
        for whose, why in left
    }


def _not_stated(left: NotComputed) -> tuple[str, str]:
    """Who leaves something out, and what; nobody where that is not why."""
    stated = _NOT_STATED.fullmatch(left.why)
    if stated is None:
        return "", ""
    what = stated["what"].removeprefix("the ")
    if left.machine is not None and f" of {left.machine}" in what and not stated["sheet"]:
        return left.machine, what.replace(f" of {left.machine}", "", 1)
    return "the setup sheet", _SAME.get(what, what)


def _names(names: set[str]) -> str:
    return ", ".join(sorted(names)) if len(names) <= 3 else f"{len(names)} checks"


def rules_json() -> dict[str, object]:
    """All rules by family."""
    return {
        "rules": [
            {
                "rule": rule.name,
                "family": family,
                "severity": rule.severity,
                "machines": rule.machines,
                "what": rule.what,
                "source": rule.source,
            }
            for family, rules in FAMILIES.items()
            for rule in rules
        ]
    }


def print_rules(console: "Console") -> None:
    """All rules: name, severity, what each looks for."""
    for family, rules in FAMILIES.items():
        say(console, f"{family}:")
        for rule in rules:
            kind = "" if rule.machines == "any" else f", {rule.machines}"
            say(console, f"  {rule.name} ({rule.severity}{kind})")
            wrapped(console, rule.what, indent="      ")
    total = sum(len(rules) for rules in FAMILIES.values())
    wrapped(
        console, f"{total} rules. proveout explain NAME says why one is there and how to put a finding right."
    )
