"""``prove``: sign that a revision was proved on a machine, turned down, or is not finished yet."""

from datetime import datetime
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.frame import By, Frame, Json, MachineOption, Yes
from tracker.cli.options import (
    Accept,
    At,
    Reject,
    TargetOrStick,
    file_named,
    meant_by,
    moment,
    must_confirm,
    result_of,
    write_new,
)
from tracker.errors import BadCall
from tracker.reports.table import say, visible
from tracker.services.comparing import PlainFile
from tracker.services.prove_prior import Paper, prove_prior

if TYPE_CHECKING:
    from tracker.records.events import Step
    from tracker.services.prove_form import BlankForm


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
    from tracker.cli.prove_dialog import can_ask, complete, start, take_in
    from tracker.reports.prove import as_json, print_text
    from tracker.services.prove import Answers, blank_form, is_sensible

    frame = Frame.of(ctx, json=json, yes=yes)
    if prior or evidence is not None or last_run is not None:
        paper = Paper(evidence=evidence, last_run=last_run, note=note)
        others = (form, answers, cause, first_piece, limit, ran, tools)
        clash = not prior or reject or again or take_up or any(one is not None for one in others)
        _prior(frame, target, paper, machine=machine, by=by, at=moment(at), clash=clash)
        return
    said = Answers(
        result=result_of(accept, reject),
        cause=cause,
        steps=_steps(frame, answers),
        first_piece=first_piece,
        note=note,
        limit=limit,
        at=moment(at),
        take_up=take_up,
    )
    desk = frame.desk()
    meant = meant_by(frame, desk, target, machine)
    if form is not None:
        _write_form(
            frame, blank_form(desk, meant.named, machine=meant.machine, short=again or bool(tools)), form
        )
        return
    if not (can_ask(frame) and reject and cause is None):  # the cause is asked
        is_sensible(desk, said)
    begun = start(
        frame, desk, meant.named, machine=meant.machine, by=by, tools=tools, again=again, rejects=reject
    )
    off_control = [PlainFile(name=name, data=file_named(frame, name)) for name in ran or []]
    begun = take_in(frame, desk, begun, [*meant.files, *off_control], note)
    report = put_down(frame, desk, begun, complete(frame, begun, said, from_form=answers is not None))
    frame.answer("prove", lambda: as_json(report), lambda console: print_text(report, console))


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


def _write_form(frame: Frame, form: "BlankForm", name: str) -> None:
    path = write_new(frame, name, form.text)
    found = form.target
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


def _steps(frame: Frame, name: str | None) -> "tuple[Step, ...]":
    if name is None:
        return ()
    from tracker.store.answers_file import load_answers

    return load_answers(file_named(frame, name), name)
