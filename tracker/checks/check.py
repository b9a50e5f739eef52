"""The check of one operation for one machine: one run of its main program, all rules over it."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from tracker.checks.finding import Finding, NotComputed, Result
from tracker.checks.panel import Panel
from tracker.checks.registry import RULES
from tracker.checks.rule import ANY, Rule
from tracker.checks.subject import Subject
from tracker.machining.run_through import run, run_rows
from tracker.machining.setting import Setting
from tracker.machining.summarise import judge_lathe
from tracker.machining.texts import NotThinError
from tracker.machining.watch import Block
from tracker.nc.scan import read

_MOST_REASONS = 5


def check(subject: Subject, rules: Sequence[Rule] = RULES) -> Result:
    """Every rule meant for the kind of machine, over one run.

    A text in another language, or a binary, is not run: no rule is computed then, and each says so.
    """
    if not subject.main.readable:
        return _unread(subject, rules)
    setting = subject.setting()
    if setting.lathe is None:
        lathe, _ = judge_lathe(read(subject.main.data), setting)
        setting = replace(setting, lathe=lathe)
    panel = _run(subject, rules, setting)
    lost = _lost(panel)
    left = [*panel.said.unknown, *lost]
    return Result(
        findings=tuple(sorted(dict.fromkeys(panel.said.findings), key=_place(subject))),
        not_computed=tuple(left),
        checks=tuple(rule.name for rule in panel.rules),
    )


def _run(subject: Subject, rules: Sequence[Rule], setting: Setting) -> Panel:
    """All rules over a run, which has ended; rows of plain blocks in bulk, unless the order of blocks needs one of them."""
    try:
        panel = Panel(subject, rules)
        control = run_rows(subject.main.data, setting, panel)
    except NotThinError:
        panel = Panel(subject, rules)
        control = run(subject.main.data, setting, [panel])
    panel.close(control)
    return panel


def _unread(subject: Subject, rules: Sequence[Rule]) -> Result:
    kinds = {True: "lathe", False: "mill", None: ""}[subject.lathe]
    tried = [rule for rule in rules if not kinds or rule.machines in (kinds, ANY)]
    why = "the main program is not in words this tool reads; it is kept to the letter"
    path = subject.main.path
    return Result(
        findings=(),
        not_computed=tuple(_not_computed(subject, rule, why, path, None) for rule in tried),
        checks=tuple(rule.name for rule in tried),
    )


def _lost(panel: Panel) -> Iterable[NotComputed]:
    """What rules cannot tell where the run could not be followed: the first few reasons, and how many more."""
    reasons: dict[str, tuple[Block, str]] = {}
    for why, block, hidden in panel.trail.not_followed:
        reasons.setdefault(why, (block, hidden))
    for rule in panel.rules:
        own = [(why, block) for why, (block, hidden) in reasons.items() if rule.touched_by(hidden)]
        for why, block in own[:_MOST_REASONS]:
            yield _not_computed(panel.subject, rule, _spelled(why), panel.trail.path(block), block.line)
        if len(own) > _MOST_REASONS:
            why = f"not followed: {len(own) - _MOST_REASONS} places more"
            yield _not_computed(panel.subject, rule, why, None, None)


def _spelled(why: str) -> str:
    return why if why.startswith("not followed") else f"not followed: {why}"


def _not_computed(subject: Subject, rule: Rule, why: str, path: str | None, line: int | None) -> NotComputed:
    return NotComputed(
        rule=rule.name,
        why=why,
        operation=subject.operation.id,
        machine=subject.machine.id if subject.machine else None,
        file=path,
        line=line,
    )


def _place(subject: Subject) -> Callable[[Finding], tuple[int, int, str, str]]:
    """Order of findings: by file, main program first; by line; by rule."""
    at = {program.path: place for place, program in enumerate(subject.programs)}

    def key(finding: Finding) -> tuple[int, int, str, str]:
        file = -1 if finding.file is None else at.get(finding.file, len(at))
        return file, finding.line or 0, finding.rule, finding.message

    return key
