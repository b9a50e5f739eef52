"""The prove-out form: a TOML text with a table a step, and the answers read back from one.

The form comes out empty: no step done, no figure. Which job and machine it is for stands in remarks at its head; the
answers count for the revision they are handed in with, so that no form speaks for another text.
"""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from tracker.records.events import Step
from tracker.records.problems import Problem, nearest_fix
from tracker.records.template import quoted
from tracker.services.prove_steps import STEPS, StepRule, in_order, required_steps, steps_in
from tracker.services.target import Target

_KEYS = ("done", "reason", "value")


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankForm:
    """An empty form, and the revision it was made for."""

    target: Target
    text: str


def form_text(
    *, heading: str, display_id: str, standing: str, caution: str, units: str | None, short: bool
) -> str:
    """The empty form; ``heading`` says job, operation, revision and machine, ``standing`` how it stands there."""
    required = required_steps(short=short)
    head = [
        f"Prove-out of {heading}",
        f"id to be read back at the machine: {display_id}",
        standing,
        caution,
        "done = true where it was done; else say why not in reason. Steps with a figure want it in value.",
    ]
    parts = ["".join(f"# {line}\n" for text in head for line in _folded(text))]
    parts += [_table(rule, rule.key in required) for rule in steps_in(units)]
    return "\n".join(parts)


def filled_form(heading: str, steps: Iterable[Step]) -> str:
    """A form with these answers in it, to be handed in as any other."""
    parts = [f"# Answers of a prove-out that was not put down: {heading}\n"]
    for step in steps:
        done = "true" if step.done else "false"
        table = f"[{step.step}]\ndone = {done}\nreason = {quoted(step.reason or '')}\n"
        parts.append(table + (f"value = {step.value!r}\n" if step.value is not None else ""))
    return "\n".join(parts)


def steps_from(mapping: Mapping[str, object]) -> tuple[tuple[Step, ...], tuple[Problem, ...]]:
    """The answered steps of a form, and everything that is wrong with it."""
    problems: list[Problem] = []
    steps: list[Step] = []
    for key, table in mapping.items():
        found = list(_problems(key, table))
        problems += found
        if not found and isinstance(table, Mapping):
            value = table.get("value")
            steps.append(
                Step(
                    step=key,
                    done=table.get("done") is True,
                    reason=str(table.get("reason", "")).strip() or None,
                    value=float(value) if isinstance(value, int | float) and value != 0 else None,
                )
            )
    return in_order(steps), tuple(problems)


def _problems(key: str, table: object) -> Iterator[Problem]:
    known = [rule.key for rule in STEPS]
    if key not in known:
        yield Problem((key,), f"{key!r} is no step of a prove-out", nearest_fix(key, known, "steps"))
        return
    if not isinstance(table, Mapping):
        yield Problem((key,), f"{key} must be a table", f"open it with a line [{key}]")
        return
    for name in table:
        if name not in _KEYS:
            yield Problem((key, name), f"unknown key {name!r} in [{key}]", nearest_fix(name, _KEYS, "keys"))
    if not isinstance(table.get("done", False), bool):
        yield Problem(
            (key, "done"), f"done of {key} must be true or false", "write done = true, or done = false"
        )
    if not isinstance(table.get("reason", ""), str):
        yield Problem((key, "reason"), f"reason of {key} must be text in quotes", 'write reason = "..."')
    value = table.get("value", 0)
    if not isinstance(value, int | float) or isinstance(value, bool) or not math.isfinite(value) or value < 0:
        yield Problem(
            (key, "value"), f"value of {key} must be a number that is not below 0", "write value = 100"
        )


def _table(rule: StepRule, required: bool) -> str:
    lines = _folded(f"{rule.title}{'' if required else ' (not required)'}: {rule.what}")
    text = "".join(f"# {line}\n" for line in lines) + f'[{rule.key}]\ndone = false\nreason = ""\n'
    return text + (f"value = 0    # {rule.figure}\n" if rule.figure else "")


def _folded(text: str, width: int = 96) -> list[str]:
    """``text`` in lines of at most ``width`` characters, broken at blanks."""
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > width:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".lstrip()
    return lines
