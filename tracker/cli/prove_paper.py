"""``prove --paper``: the printed sheet is the form; only what was not ticked and the figures are typed.

Off a terminal the same is said with ``--not-done`` and ``--figure``. A step that has a figure counts as done only with
the figure written on the sheet; one that is not required and has none is left out, as if it stood empty.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import typer

from tracker.cli.frame import Frame
from tracker.errors import BadCall
from tracker.records.events import Step
from tracker.records.problems import nearest_fix
from tracker.reports.table import say, wrapped
from tracker.services.prove import Answers, Begun
from tracker.services.prove_steps import STEPS, StepRule, in_order, required_steps, steps_in

_FIRST_PIECE = "P11"
Why = Mapping[str, str | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class OnPaper:
    """A prove-out that was ticked on a sheet; ``named_by_id``: by the id that is printed on it."""

    named_by_id: bool = False


def paper_steps(not_done: Sequence[str], figures: Sequence[str], *, short: bool) -> tuple[Step, ...]:
    """The answers of a ticked sheet, from ``P7=no room`` and ``P8=25``; all other steps are done.

    Raises BadCall (``wrong-call``) for what is no step, and for a figure that is no number above 0.
    """
    rules = {rule.key: rule for rule in _rules(STEPS, short=short)}
    why = {key: text or None for key, text in _pairs(not_done, rules, "--not-done")}
    values: dict[str, float] = {}
    for key, text in _pairs(figures, rules, "--figure"):
        one, value = f"{key}={text}", _number(text)
        if key in why:
            raise BadCall(
                "wrong-call",
                f"--not-done {key} and --figure {one}: a step that was not done has no figure",
                fix=f"leave out the one the sheet does not say of {key}",
            )
        if value is None or rules[key].figure is None:
            raise BadCall(
                "wrong-call",
                f"--figure {one}: {'no number above 0' if value is None else f'{key} has no figure'}",
                fix="write it like --figure P8=25",
            )
        values[key] = value
    bare = [
        Step(step=key, done=True)
        for key in required_steps(short=short)
        if key not in why and key not in values and rules[key].figure is not None
    ]
    return in_order((*_steps(rules.values(), why, values), *bare))


def ask_paper(frame: Frame, begun: Begun, said: Answers) -> tuple[Step, ...]:
    """Ask for what was not ticked, then for the figures; what is answered already is not asked again.

    Raises typer.Abort where the person stops.
    """
    console = frame.console(error=True)
    answered = {step.step for step in (*said.steps, *(begun.before if said.take_up else ()))}
    rules = [rule for rule in _rules(steps_in(begun.units), short=begun.short) if rule.key not in answered]
    say(console, f"The sheet printed for id {begun.target.display_id}: {rules[0].key} to {rules[-1].key}.")
    why: dict[str, str | None] = {}
    if not typer.confirm("All ticked as printed?", default=None, err=True):
        for rule in _ask_which(rules):
            wrapped(console, f"{rule.key} {rule.title}: {rule.what}", indent="  ")
            reason = typer.prompt("  why not", default="", show_default=False, err=True)
            why[rule.key] = str(reason).strip() or None
    values: dict[str, float] = {}
    for rule in rules:
        if rule.figure is not None and rule.key not in why:
            value = _ask_figure(rule, needed=rule.key in required_steps(short=begun.short))
            if value is not None:
                values[rule.key] = value
    return (*said.steps, *_steps(rules, why, values))


def _rules(steps: Sequence[StepRule], *, short: bool) -> list[StepRule]:
    required = required_steps(short=short)
    return [rule for rule in steps if rule.key != _FIRST_PIECE and (not short or rule.key in required)]


def _steps(rules: Iterable[StepRule], why: Why, values: Mapping[str, float]) -> Iterator[Step]:
    for rule in rules:
        if rule.key in why:
            yield Step(step=rule.key, done=False, reason=why[rule.key])
        elif rule.figure is None or rule.key in values:
            yield Step(step=rule.key, done=True, value=values.get(rule.key))


def _ask_which(rules: Sequence[StepRule]) -> list[StepRule]:
    by_number = {rule.key.removeprefix("P"): rule for rule in rules}
    while True:
        said = str(typer.prompt("Which were not? (their numbers, as 7 12)", err=True)).upper()
        numbers = [word.removeprefix("P") for word in said.replace(",", " ").split()]
        if numbers and all(number in by_number for number in numbers):
            return [by_number[number] for number in dict.fromkeys(numbers)]
        typer.echo(f"  the numbers are {', '.join(by_number)}", err=True)


def _ask_figure(rule: StepRule, *, needed: bool) -> float | None:
    while True:
        hint = "" if needed else " (not done: Enter)"
        default = None if needed else ""
        said = str(
            typer.prompt(f"{rule.key} {rule.figure}{hint}", default=default, show_default=False, err=True)
        )
        if not said.strip() and not needed:
            return None
        value = _number(said)
        if value is not None:
            return value
        typer.echo("  a number above 0, please", err=True)


def _number(text: str) -> float | None:
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        return None
    return value if 0 < value < float("inf") else None


def _pairs(texts: Sequence[str], rules: Mapping[str, StepRule], option: str) -> Iterator[tuple[str, str]]:
    """Each step and what was said of it; BadCall where two things were said of one."""
    seen: dict[str, str] = {}
    for one in texts:
        key, text = _pair(one, rules, option)
        if seen.setdefault(key, text) != text:
            raise BadCall(
                "wrong-call",
                f"{option} {key} is said twice: {seen[key] or 'without a reason'}, and {text or 'without a reason'}",
                fix=f"say of {key} once what the sheet says",
            )
        yield key, text


def _pair(text: str, rules: Mapping[str, StepRule], option: str) -> tuple[str, str]:
    key, _, rest = text.partition("=")
    key = key.strip().upper()
    if key not in rules:
        raise BadCall(
            "wrong-call",
            f"{option} {text}: {key or 'nothing'} is no step of this prove-out",
            fix=nearest_fix(key, list(rules), "steps"),
        )
    return key, rest.strip()
