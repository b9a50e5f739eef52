"""The steps of a prove-out, and when they are enough to accept.

P0 to P13 in the order they are done; P14 is the signing itself, P15 comes after. P11 is answered by the first piece.
The steps and their figures are common practice, no source.

Rules for an accepted proof:

1. Every required step is done, or excused with a reason.
2. A step that was done and has a figure has one above 0.
3. P9 was cut at 100 per cent; anything else, and P9 excused, needs a limit in words.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from tracker.records.events import Step

ACCEPTED = "accepted"
REJECTED = "rejected"
UNFINISHED = "unfinished"
WAITING = "waiting"

PROGRAM = "program"
CAUSES = (PROGRAM, "sheet", "tool", "fixture", "material", "machine", "setup", "other")
"""Why a prove-out was rejected. ``program`` is seen on every machine, the others only where it happened."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRule:
    """One step: its key, a title of a few words, what is done; ``figure`` what the number is, if there is one.

    ``unit`` goes behind the number where it is shown; a length has none before `steps_in` says it.
    """

    key: str
    title: str
    what: str
    figure: str | None = None
    unit: str | None = None


STEPS = (
    StepRule(
        key="P0",
        title="right text",
        what="The id read back on the control is the id on the sheet; only this program family is loaded.",
    ),
    StepRule(
        key="P1",
        title="machine",
        what="Home, warm-up run, no alarms; date of the last machine check looked at.",
        figure="minutes of warm-up",
        unit="min",
    ),
    StepRule(
        key="P2",
        title="tools",
        what="Each tool, holder, stick-out measured, H and D entered, pocket table, large tools with empty neighbours.",
    ),
    StepRule(
        key="P3",
        title="workholding",
        what="As on the sheet; clamp height, stock size, stock or bar stick-out and its support.",
    ),
    StepRule(
        key="P4",
        title="work offsets",
        what="Entered, and checked by a second way (indicator or touch); old wear cleared.",
    ),
    StepRule(
        key="P5",
        title="control settings",
        what="Unit, decimal mode, block delete switch, optional stop ON.",
    ),
    StepRule(key="P6", title="graphics", what="Path on the control looked at; no alarms, no limits."),
    StepRule(
        key="P7",
        title="dry run",
        what="Above the part (Z raised over the tallest clamp) or without one; the shift removed again afterwards.",
        figure="Z shift used",
    ),
    StepRule(
        key="P8",
        title="first piece, single block",
        what="Lowest rapid, hand on feed hold, distance-to-go read against the real gap at every approach of every tool.",
        figure="rapid in percent",
        unit="%",
    ),
    StepRule(
        key="P9",
        title="first piece complete",
        what="Every feed and spindle override back at 100 per cent before the proof counts.",
        figure="override in percent actually used",
        unit="%",
    ),
    StepRule(
        key="P10",
        title="proof piece",
        what="Second piece, or the same again: continuous, production rapid, 100 per cent feed.",
        figure="cycle time in minutes",
        unit="min",
    ),
    StepRule(
        key="P11",
        title="first-article measurement",
        what="All machined characteristics, by somebody else than the prover. Its report is given with --first-piece.",
    ),
    StepRule(
        key="P12",
        title="edits at the control",
        what="None; or the program saved back and collected, and P8 done again for the tools it touched.",
    ),
    StepRule(
        key="P13",
        title="debris",
        what="Extra stops, slow feeds and block deletes taken out. That is an edit: it makes another revision.",
    ),
)

REQUIRED_FULL = ("P0", "P1", "P2", "P3", "P4", "P5", "P6", "P8", "P9", "P10")
REQUIRED_SHORT = ("P0", "P2", "P4", "P8", "P9")
"""Of a proof of some tools' sections, and of the short form that renews a lapsed one."""

_LENGTH = "P7"
_RULES: Mapping[str, StepRule] = {rule.key: rule for rule in STEPS}
_FULL_FEED = 100


def required_steps(*, short: bool) -> tuple[str, ...]:
    """Keys of the steps that must be done or excused."""
    return REQUIRED_SHORT if short else REQUIRED_FULL


def steps_in(units: str | None) -> tuple[StepRule, ...]:
    """The steps with what is a length asked for and shown in ``units``, the program's; None names no unit."""
    if units is None:
        return STEPS
    asked = replace(_RULES[_LENGTH], figure=f"{_RULES[_LENGTH].figure}, in {units}", unit=units)
    return tuple(asked if rule.key == _LENGTH else rule for rule in STEPS)


def rule_of(key: str) -> StepRule:
    """The step with this key; raises KeyError."""
    return _RULES[key]


def is_answered(step: Step) -> bool:
    """Whether somebody said something about it: done, or why not."""
    return step.done or bool(step.reason)


def lacking(steps: Iterable[Step], *, short: bool, limit: str | None) -> tuple[str, ...]:
    """What keeps these answers from being an accepted proof, one line each; empty when nothing does."""
    by_key = {step.step: step for step in steps}
    missing: list[str] = []
    for key in required_steps(short=short):
        step = by_key.get(key)
        if step is None or not is_answered(step):
            missing.append(f"{key} ({rule_of(key).title}) is neither done nor excused with a reason")
    for key, step in by_key.items():
        figure = rule_of(key).figure
        if step.done and figure and not (step.value and step.value > 0):
            missing.append(f"{key} ({rule_of(key).title}) is done and lacks its figure: {figure}")
    whole = by_key.get("P9")
    if not limit and whole is not None and is_answered(whole) and not _at_full_feed(whole):
        used = f"at {whole.value:g} percent" if whole.done and whole.value else "without a complete piece"
        missing.append(
            f"P9 ({rule_of('P9').title}) {used}: a proof at another feed is not one at 100 percent; "
            "say with --limit what it is limited to"
        )
    return tuple(missing)


def merged(before: Iterable[Step], now: Iterable[Step]) -> tuple[Step, ...]:
    """The answers of a prove-out taken up again: what is answered now counts, else what was answered before."""
    by_key = {step.step: step for step in before}
    by_key |= {step.step: step for step in now if is_answered(step)}
    return in_order(by_key.values())


def in_order(steps: Iterable[Step]) -> tuple[Step, ...]:
    """Answered steps in the order P0 to P13; a reason beside a step that was done is kept as a remark."""
    by_key = {step.step: replace(step, reason=step.reason or None) for step in steps}
    return tuple(by_key[rule.key] for rule in STEPS if rule.key in by_key and is_answered(by_key[rule.key]))


def _at_full_feed(step: Step) -> bool:
    # a figure that is missing or 0 has a line of its own above
    return step.done and (not step.value or step.value <= 0 or step.value == _FULL_FEED)
