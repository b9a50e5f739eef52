"""The checks over an operation's text, for one machine after the other, with the waivers of its sheet."""

from collections.abc import Sequence

from tracker.checks.check import check
from tracker.checks.finding import Finding, NotComputed
from tracker.checks.registry import RULES
from tracker.checks.rule import Rule
from tracker.checks.spans import lines_of
from tracker.checks.subject import NOTHING, OnRecord, ProgramIn, Subject
from tracker.checks.waivers import unused, with_waivers
from tracker.frozen import dataclass
from tracker.nc.dialect import WORD_ADDRESS
from tracker.records.events import Finding as KeptFinding
from tracker.records.job import Waiver
from tracker.records.shop import Machine, Shop
from tracker.services.operation_text import OperationText

CALL_RULES = ("call-missing", "call-twice", "call-resident", "call-bound")
"""What is found while an operation's programs are gathered; it can be waived like any other finding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verified:
    """What the checks say about one operation.

    ``machines`` are the ids it was checked for, empty where for none in particular; ``checks`` the names of all rules
    that were tried, ``unused`` the waivers that speak for nothing (known only where all its machines were looked at),
    ``mark`` the 8-digit id of its text.
    """

    job: str
    operation: str
    machines: tuple[str, ...]
    findings: tuple[Finding, ...]
    not_computed: tuple[NotComputed, ...]
    checks: tuple[str, ...]
    unused: tuple[Waiver, ...] = ()
    mark: str = ""

    @property
    def done(self) -> int:
        """How many checks were computed in full."""
        left = {one.rule for one in self.not_computed}
        return sum(1 for name in self.checks if name not in left)


def verified(
    text: OperationText,
    shop: Shop,
    only: Machine | None = None,
    *,
    on_record: OnRecord = NOTHING,
    rules: Sequence[Rule] = RULES,
) -> Verified:
    """Check an operation for ``only``, else for each of its machines, else for none in particular.

    ``on_record``: what else the record holds, for rules that look back or around (`tracker.services.on_record`); not asked
    again where a release is judged, for what other jobs did since undoes none: what check-in found counts there.
    A waiver of a rule that is gone lets nothing stand. ``rules``: those to run, in their order.
    """
    operation = text.operation
    own = [machine for name in operation.machines if (machine := shop.machine(name)) is not None]
    machines: Sequence[Machine | None] = [only] if only else own or [None]
    findings = [_of_call(one, text) for one in text.findings]
    not_computed: list[NotComputed] = []
    tried: dict[str, None] = dict.fromkeys(CALL_RULES)
    programs = _programs(text)
    for machine in machines:
        subject = Subject(
            job=text.job,
            operation=operation,
            machine=machine,
            programs=programs,
            checks=shop.checks,
            on_record=on_record,
        )
        result = check(subject, rules)
        findings += result.findings
        not_computed += result.not_computed
        tried |= dict.fromkeys(result.checks)
    return Verified(
        job=text.job.number,
        operation=operation.id,
        machines=tuple(one.id for one in machines if one is not None),
        findings=with_waivers(findings, operation.waivers),
        not_computed=tuple(not_computed),
        checks=tuple(tried),
        unused=() if only and len(own) > 1 else unused(operation.waivers, findings),
        mark=text.display_id,
    )


def _programs(text: OperationText) -> tuple[ProgramIn, ...]:
    return tuple(
        ProgramIn(
            path=program.path,
            number=program.number,
            data=program.data,
            readable=file.dialect == WORD_ADDRESS,
        )
        for program, file in zip(text.programs, text.files, strict=True)
    )


def _of_call(kept: KeptFinding, text: OperationText) -> Finding:
    """A finding about calls, with the text of its line, by which it may be waived."""
    data = next((program.data for program in text.programs if program.path == kept.file), b"")
    lines = lines_of(data) if kept.line else []
    return Finding(
        rule=kept.rule,
        severity=kept.severity,
        message=kept.message,
        remedy=kept.remedy or "",
        operation=text.operation.id,
        file=kept.file,
        line=kept.line,
        text=lines[kept.line - 1] if kept.line and kept.line <= len(lines) else "",
        tool=kept.tool,
    )


def kept(finding: Finding) -> KeptFinding:
    """A finding as it stands in a record."""
    return KeptFinding(
        rule=finding.rule,
        severity=finding.severity,
        message=finding.message,
        file=finding.file,
        line=finding.line,
        tool=finding.tool,
        remedy=finding.remedy,
    )
