"""What ``prove`` asks on a terminal: machine, later tools, the checklist step by step, the signature.

Off a terminal nothing is asked: the options and the form say it all, or the call is wrong. Stopping in the middle
(``s``, Ctrl-C, end of input) and not signing at the end keep what was answered as an unfinished prove-out. Only where
another id was read at the machine nothing is kept: the answers may be about another text.
"""

import sys
from collections.abc import Sequence
from dataclasses import replace

import typer

from tracker.cli.frame import Frame
from tracker.cli.prove_paper import OnPaper, ask_paper
from tracker.errors import BadCall, Refused
from tracker.records.events import Step
from tracker.reports.compare import print_text as print_difference
from tracker.reports.prove import print_heading, print_summary
from tracker.reports.table import say, visible, wrapped
from tracker.services.comparing import PlainFile
from tracker.services.desk import Desk
from tracker.services.naming import Named
from tracker.services.prove import Answers, Begun, begin, with_ran
from tracker.services.prove_steps import (
    ACCEPTED,
    CAUSES,
    REJECTED,
    StepRule,
    lacking,
    merged,
    required_steps,
    steps_in,
)
from tracker.services.prove_tools import later_tools, split_tools

_TRIES = 3


class _StoppedError(Exception):
    """The person stops here; what was answered is kept."""


def can_ask(frame: Frame) -> bool:
    """Whether somebody sits at a terminal and has not said everything with ``--yes``."""
    return sys.stdin.isatty() and not frame.json and not frame.yes


def start(
    frame: Frame,
    desk: Desk,
    named: Named,
    *,
    machine: str | None,
    by: str | None,
    tools: str | None,
    again: bool,
    rejects: bool = False,
) -> Begun:
    """Begin, asking for the machine and for later tools that cut the same feature."""
    chosen = split_tools(tools)
    if machine is None and can_ask(frame):
        known = ", ".join(one.id for one in desk.repo.tree().shop().machines)
        machine = frame.ask(f"On which machine ({known})?", flag="--machine")
    with frame.busy("reading the records"):
        begun = begin(desk, named, machine=machine, by=by, tools=chosen, again=again, rejects=rejects)
    later = later_tools(desk, begun.target, begun.tools) if begun.tools and can_ask(frame) else ()
    if not later:
        return begun
    listed = ", ".join(f"T{visible(tool)}" for tool in later)
    said = typer.prompt(
        f"Later tools: {listed}. Which of them cut the same feature? They are proved again too (none: Enter)",
        default="",
        show_default=False,
        err=True,
    )
    more = split_tools(str(said))
    if not more:
        return begun
    return begin(desk, named, machine=machine, by=by, tools=(*chosen, *more), again=again, rejects=rejects)


def take_in(frame: Frame, desk: Desk, begun: Begun, files: Sequence[PlainFile], note: str | None) -> Begun:
    """Hold files off the control against the revision; an edited one is shown, and checked in when told so."""
    if not files:
        return begun
    with frame.busy(f"comparing {files[0].name}"):
        seen = with_ran(desk, begun, files)
    if seen.ran is None or not seen.ran.edited:
        return seen
    console = frame.console(error=True)
    for one in seen.ran.edited if not frame.json else ():
        print_difference(one.difference, console)
    question = f"It was edited at the control. Check it in as {begun.person.initials}'s next revision first?"
    if not frame.confirm(question):
        raise Refused(
            "edited-at-control", "nothing was recorded", fix="check the file in first, then prove that"
        )
    with frame.busy(f"checking in {files[0].name}"):
        return with_ran(desk, begun, files, reason=note, take_in=True)


def complete(
    frame: Frame, begun: Begun, said: Answers, *, from_form: bool, paper: OnPaper | None = None
) -> Answers:
    """The answers with what a person at the terminal adds, signed; raises BadCall where nobody can be asked.

    ``paper``: the steps were ticked on a printed sheet, and are not asked one by one.
    """
    if can_ask(frame):
        return _ask_all(frame, begun, said, from_form=from_form, paper=paper)
    if said.result is None and not from_form:
        raise BadCall(
            "no-answers",
            "nothing is said about the prove-out",
            fix="write a form with --form FILE, fill it in, and hand it in with --answers FILE",
        )
    if not frame.yes:
        frame.confirm("Put this prove-out down?")
    return said


def _ask_all(frame: Frame, begun: Begun, said: Answers, *, from_form: bool, paper: OnPaper | None) -> Answers:
    console = frame.console(error=True)
    print_heading(begun, console)
    if begun.before and not said.take_up:
        said = replace(said, take_up=typer.confirm("Go on with it?", default=False, err=True))
    ask = _ask_steps if paper is None else _ask_sheet
    steps, stopped = (said.steps, False) if from_form else ask(frame, begun, said)
    said = replace(said, steps=steps)
    try:
        said = replace(said, result=None, cause=None) if stopped else _ask_result(said)
    except typer.Abort:
        said = replace(said, result=None, cause=None)
    shown = replace(said, steps=merged(begun.before if said.take_up else (), said.steps))
    lacks = lacking(shown.steps, short=begun.short, limit=said.limit) if said.result == ACCEPTED else ()
    if lacks:
        say(console, "It cannot be accepted like this:")
        for line in lacks:
            wrapped(console, f"- {line}", indent="  ")
        said, shown = replace(said, result=None), replace(shown, result=None)
    if not shown.steps and said.result is None:
        what = "nothing was answered" if paper is None else "the sheet was not gone through to its end"
        raise Refused("not-signed", f"{what}: nothing was recorded", fix="run it again when you are ready")
    print_summary(begun, shown, console)
    return said if _is_signed(begun, said, paper) else replace(said, result=None, cause=None)


def _ask_steps(frame: Frame, begun: Begun, said: Answers) -> tuple[tuple[Step, ...], bool]:
    """The answers step by step, and whether the person stopped; what is answered already is not asked again."""
    console = frame.console(error=True)
    required = required_steps(short=begun.short)
    answered = {step.step for step in (*said.steps, *(begun.before if said.take_up else ()))}
    steps: list[Step] = list(said.steps)
    say(console, "For each step: y done, n not done, s stop here and keep what was answered.")
    for rule in steps_in(begun.units):
        if rule.key in answered or rule.key == "P11":
            continue
        optional = "" if rule.key in required else " (not required)"
        wrapped(console, f"{rule.key} {rule.title}{optional}: {rule.what}")
        try:
            steps.append(_ask_step(rule))
        except _StoppedError:
            return tuple(steps), True
        except typer.Abort:
            typer.echo("", err=True)
            return tuple(steps), True
    return tuple(steps), False


def _ask_sheet(frame: Frame, begun: Begun, said: Answers) -> tuple[tuple[Step, ...], bool]:
    """The same from a printed sheet; what was typed before a stop is asked again, it is on the paper."""
    try:
        return ask_paper(frame, begun, said), False
    except typer.Abort:
        typer.echo("", err=True)
        return said.steps, True


def _ask_step(rule: StepRule) -> Step:
    while True:
        word = str(typer.prompt("  done? [y/n/s]", err=True)).strip().lower()
        if word in ("s", "stop"):
            raise _StoppedError
        if word in ("y", "yes"):
            return Step(step=rule.key, done=True, value=_ask_figure(rule))
        if word in ("n", "no"):
            reason = typer.prompt("  why not", default="", show_default=False, err=True)
            return Step(step=rule.key, done=False, reason=str(reason).strip() or None)


def _ask_figure(rule: StepRule) -> float | None:
    if rule.figure is None:
        return None
    while True:
        said = str(typer.prompt(f"  {rule.figure}", err=True)).strip().replace(",", ".")
        try:
            value = float(said)
        except ValueError:
            value = 0.0
        if 0 < value < float("inf"):
            return value
        typer.echo("  a number above 0, please", err=True)


def _ask_result(said: Answers) -> Answers:
    result = said.result
    while result is None:
        word = (
            str(typer.prompt("Accepted, rejected, or keep it for later? [a/r/k]", err=True)).strip().lower()
        )
        if word in ("k", "keep"):
            return replace(said, result=None)
        result = {"a": ACCEPTED, "accepted": ACCEPTED, "r": REJECTED, "rejected": REJECTED}.get(word)
    cause = said.cause
    while result == REJECTED and cause not in CAUSES:
        cause = str(typer.prompt(f"Cause ({', '.join(CAUSES)})", err=True)).strip().lower()
    piece = said.first_piece
    if result == ACCEPTED and piece is None:
        question = "First piece: its measuring report, or waiting (none: Enter)"
        piece = str(typer.prompt(question, default="", show_default=False, err=True)).strip() or None
    return replace(said, result=result, cause=cause, first_piece=piece)


def _is_signed(begun: Begun, said: Answers, paper: OnPaper | None) -> bool:
    """Whether it was signed: an accepted proof with the id read at the machine, a rejected one with a yes.

    From paper the id is that on the sheet, and a yes is enough where the call named it.

    One that is kept for later needs no signature. Raises Refused (``not-signed``) when the id read is another.
    """
    if said.result is None:
        return True
    if said.result != ACCEPTED or (paper is not None and paper.named_by_id):
        try:
            return typer.confirm("Put it down like this? (no: kept as unfinished)", default=False, err=True)
        except typer.Abort:
            typer.echo("", err=True)
            return False
    where = "read back at the machine" if paper is None else "printed on the sheet"
    for attempt in range(_TRIES):
        try:
            typed = str(typer.prompt(f"To sign, type the id that is {where}", err=True))
        except typer.Abort:
            typer.echo("", err=True)
            if attempt == 0:
                return False
            break
        if typed.strip().upper() == begun.target.display_id:
            return True
        typer.echo("  that is not the id of this text", err=True)
    raise Refused(
        "not-signed",
        f"the id that was typed is not that of {begun.target.spelled}: nothing was recorded",
        fix="find out which text is on the control: proveout identify FILE",
    )
