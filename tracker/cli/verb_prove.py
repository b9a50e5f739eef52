"""``prove``: sign that a revision was proved on a machine, turned down, or is not finished yet."""

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.frame import By, Frame, Json, MachineOption, Yes
from tracker.cli.options import (
    Accept,
    At,
    Reject,
    TargetOrStick,
    can_ask,
    file_named,
    meant_by,
    moment,
    must_confirm,
    result_of,
    write_new,
)
from tracker.cli.prove_paper import OnPaper
from tracker.errors import BadCall
from tracker.reports.table import say, visible
from tracker.services.comparing import PlainFile
from tracker.services.prove_prior import Paper, prove_prior

if TYPE_CHECKING:
    from tracker.records.events import Step
    from tracker.services.desk import Desk
    from tracker.services.from_stick import OnStickNow


def command(
    ctx: typer.Context,
    target: TargetOrStick,
    machine: MachineOption = None,
    by: By = None,
    form: Annotated[
        str | None, typer.Option("--form", metavar="FILE", help="Write the empty form there, and stop.")
    ] = None,
    answers: Annotated[
        str | None, typer.Option("--answers", metavar="FILE", help="The filled-in form.")
    ] = None,
    paper: Annotated[
        bool,
        typer.Option("--paper", help="The printed sheet is the form: only what was not ticked is asked."),
    ] = False,
    not_done: Annotated[
        list[str] | None,
        typer.Option("--not-done", metavar="P7=WHY", help="With --paper: a step not ticked."),
    ] = None,
    figures: Annotated[
        list[str] | None,
        typer.Option("--figure", metavar="P8=25", help="With --paper: a figure on the sheet."),
    ] = None,
    accept: Accept = False,
    reject: Reject = False,
    cause: Annotated[str | None, typer.Option("--cause", help="Why it was rejected, in one word.")] = None,
    first_piece: Annotated[
        str | None,
        typer.Option("--first-piece", metavar="TEXT", help="Its measuring report, or: waiting."),
    ] = None,
    note: Annotated[
        str | None, typer.Option("--note", metavar="TEXT", help="What else is to be said.")
    ] = None,
    limit: Annotated[
        str | None, typer.Option("--limit", metavar="TEXT", help="What the proof is limited to.")
    ] = None,
    ran: Annotated[
        list[str] | None, typer.Option("--ran", metavar="FILE", help="A file off the control, as it was run.")
    ] = None,
    tools: Annotated[
        str | None, typer.Option("--tools", metavar="5,6", help="Only these tools' sections.")
    ] = None,
    again: Annotated[
        bool, typer.Option("--again", help="Short form: renew a lapsed proof of this very text.")
    ] = False,
    take_up: Annotated[
        bool, typer.Option("--continue", help="Keep the answers of the prove-out begun before.")
    ] = False,
    prior: Annotated[
        bool,
        typer.Option("--prior", help="A proof kept on paper from before the record; no steps are asked."),
    ] = False,
    evidence: Annotated[
        str | None, typer.Option("--evidence", metavar="TEXT", help="With --prior: where the paper lies.")
    ] = None,
    last_run: Annotated[
        str | None, typer.Option("--last-run", metavar="DAY", help="With --prior: the last run it shows.")
    ] = None,
    at: At = None,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Sign a prove-out: accepted, rejected, or kept as unfinished."""
    from tracker.cli.kept_answers import put_down
    from tracker.cli.prove_dialog import complete, start, take_in
    from tracker.cli.stick_dialog import initials
    from tracker.reports.prove import as_json, print_text
    from tracker.services.prove import Answers, is_sensible

    frame = Frame.of(ctx, json=json, yes=yes)
    if prior or evidence is not None or last_run is not None:
        kept = Paper(evidence=evidence, last_run=last_run, note=note)
        others = (form, answers, cause, first_piece, limit, ran, tools, paper or None, not_done, figures)
        clash = not prior or reject or again or take_up or any(one is not None for one in others)
        _prior(frame, target, kept, machine=machine, by=by, at=moment(at), clash=clash)
        return
    short = again or bool(tools)
    said = Answers(
        result=result_of(accept, reject),
        cause=cause,
        steps=_steps(frame, answers, paper=paper, not_done=not_done, figures=figures, short=short),
        first_piece=first_piece,
        note=note,
        limit=limit,
        at=moment(at),
        take_up=take_up,
    )
    desk = frame.desk()
    meant = meant_by(frame, desk, target, machine)
    if form is not None:
        _write_form(frame, desk, meant, form, short=short, again=again)
        return
    if not (can_ask(frame) and reject and cause is None):  # the cause is asked
        is_sensible(desk, said)
    who, place = initials(frame, desk, by) if can_ask(frame) else by, meant.machine
    begun = start(frame, desk, meant.named, machine=place, by=who, tools=tools, again=again, rejects=reject)
    begun = take_in(frame, desk, begun, [*meant.files, *_off_control(frame, ran or ())], note)
    on_paper = OnPaper(named_by_id=meant.by_id) if paper or meant.files else None
    said = complete(frame, begun, said, from_form=answers is not None or bool(said.steps), paper=on_paper)
    report = put_down(frame, desk, begun, said)
    frame.answer("prove", lambda: as_json(report), lambda console: print_text(report, console))


def _off_control(frame: Frame, names: Sequence[str]) -> list[PlainFile]:
    return [PlainFile(name=name, data=file_named(frame, name)) for name in names]


def _prior(
    frame: Frame,
    target: str,
    paper: Paper,
    *,
    machine: str | None,
    by: str | None,
    at: datetime | None,
    clash: bool,
) -> None:
    from tracker.reports.prove import as_json, print_text

    if clash:
        raise BadCall(
            "wrong-call",
            "--prior takes --evidence, --last-run and --note only",
            fix="leave the other words out; a prove-out of today is signed without --prior",
        )
    desk = frame.desk()
    meant = meant_by(frame, desk, target, machine)
    must_confirm(frame, f"Do you vouch for the paper that says {target} was proved before the record began?")
    report = prove_prior(desk, meant.named, paper, machine=meant.machine, by=by, at=at)
    frame.answer("prove", lambda: as_json(report), lambda console: print_text(report, console))


def _write_form(
    frame: Frame, desk: "Desk", meant: "OnStickNow", name: str, *, short: bool, again: bool
) -> None:
    from tracker.services.prove import blank_form

    made = blank_form(desk, meant.named, machine=meant.machine, short=short, again=again)
    path, found = write_new(frame, name, made.text), made.target
    frame.answer(
        "prove",
        {
            "form": path,
            "job": found.job,
            "operation": found.operation,
            "revision": found.label,
            "id": found.display_id,
        },
        lambda console: say(console, f"Empty form for {found.spelled} written: {visible(path)}"),
    )


def _steps(
    frame: Frame,
    name: str | None,
    *,
    paper: bool,
    not_done: list[str] | None,
    figures: list[str] | None,
    short: bool,
) -> "tuple[Step, ...]":
    """The answers the call holds: of a form, or of a sheet where nobody is to be asked for them."""
    told = not_done is not None or figures is not None
    if (told and not paper) or (paper and name is not None):
        raise BadCall(
            "wrong-call",
            "--not-done and --figure go with --paper, and --answers does not",
            fix="say --paper, or fill in a form and hand it in with --answers",
        )
    if paper and (told or not can_ask(frame)):
        from tracker.cli.prove_paper import paper_steps

        return paper_steps(not_done or (), figures or (), short=short)
    if name is None:
        return ()
    from tracker.store.answers_file import load_answers

    return load_answers(file_named(frame, name), name)
