"""What a prove-out put down, for people and as JSON; the summary a prover signs."""

from typing import TYPE_CHECKING

from tracker.clock import utc_text
from tracker.policy.states import standing_words
from tracker.reports.acted import print_standing, record_json, standing_json
from tracker.reports.cautions import MOTION
from tracker.reports.findings import checked_words, finding_json, print_findings
from tracker.reports.table import say, wrapped
from tracker.reports.times import moment, zone
from tracker.services.prove import Answers, Begun, ProveReport
from tracker.services.prove_steps import ACCEPTED, UNFINISHED, WAITING, required_steps, steps_in
from tracker.services.prove_words import proving_words

if TYPE_CHECKING:
    from rich.console import Console


def as_json(report: ProveReport) -> dict[str, object]:
    """The record with its path, its id, what an unfinished one lacks, and the standing afterwards."""
    found, record = report.begun.target, report.record
    data: dict[str, object] = {
        "job": found.job,
        "operation": found.operation,
        "revision": found.label,
        "id": found.display_id,
        "machine": record.machine,
        "result": record.result,
        "by": record.by,
        "at": utc_text(record.at),
        "tools": list(record.tools),
        "lacks": list(report.lacks),
        **standing_json(report.standing),
        "record": record_json(record, report.path),
        "findings": [finding_json(finding) for finding in report.begun.findings],
        "notes": list(report.notes),
    }
    if report.begun.checked_in is not None:
        data["checked_in"] = [one.path for one in report.begun.checked_in.checked_in]
    return data


def print_text(report: ProveReport, console: "Console") -> None:
    """Who proved what where, the id, what is owed, the standing now, and the caution."""
    found, record = report.begun.target, report.record
    for one in report.begun.checked_in.checked_in if report.begun.checked_in else ():
        wrapped(console, f"Checked in first: {one.record.job}/{one.record.operation} r{one.number}.")
    what = f"T{', T'.join(record.tools)} of " if record.tools else ""
    how = "kept as unfinished" if record.result == UNFINISHED else record.result
    wrapped(
        console, f"{what}{found.spelled} (id {found.display_id}) on {record.machine}: {how} by {record.by}."
    )
    if report.lacks:
        say(console, "Still to be done:")
    for line in report.lacks:
        wrapped(console, f"- {line}", indent="  ")
    if record.result == UNFINISHED:
        wrapped(console, f"Every answer is kept. To go on with it: {_go_on(report)}")
    print_standing(console, f"{found.spelled} on {record.machine}", report.standing)
    for note in report.notes:
        wrapped(console, f"note: {note}")
    wrapped(console, MOTION)


def _go_on(report: ProveReport) -> str:
    """The call that takes an unfinished prove-out up again."""
    found, record = report.begun.target, report.record
    more = f" --tools {','.join(record.tools)}" if record.tools else " --again" if record.again else ""
    return f"proveout prove {found.job}/{found.operation}@{found.label} --machine {record.machine}{more} --continue"


def print_heading(begun: Begun, console: "Console") -> None:
    """What is about to be proved, how it stands, the caution, and one begun before."""
    found = begun.target
    tools = f", T{', T'.join(begun.tools)} only" if begun.tools else ""
    again = ", short form" if begun.again else ""
    say(console, f"Prove-out of {found.spelled} on {begun.machine.id}{tools}{again}   id {found.display_id}")
    # without what would clear it: that is being done
    wrapped(console, f"now: {standing_words(begun.standing.state, begun.standing.reason)}", indent="  ")
    wrapped(console, proving_words(begun.machine.id, found.label, begun.standing.state))
    print_findings(console, begun.findings)
    say(console, f"  {checked_words(found.record)}")
    for note in begun.notes:
        wrapped(console, f"note: {note}")
    if begun.unfinished is not None:
        record = begun.unfinished.record
        done = ", ".join(step.step for step in begun.before) or "nothing"
        when = moment(record.at, zone(found.shop.timezone))
        wrapped(console, f"Begun by {record.by} {when} and not finished; answered: {done}.")


def print_summary(begun: Begun, answers: Answers, console: "Console") -> None:
    """What will be put down."""
    result = answers.result or UNFINISHED
    say(
        console,
        f"{begun.target.spelled} on {begun.machine.id}, id {begun.target.display_id}: {result.upper()}",
    )
    known = {step.step: step for step in answers.steps}
    required = required_steps(short=begun.short)
    for rule in [one for one in steps_in(begun.units) if one.key in required or one.key in known]:
        step = known.get(rule.key)
        if step is None:
            said = "no answer"
        elif step.done:
            figure = f"{step.value:g} {rule.unit or ''}".rstrip() if step.value else ""
            said = f"done ({figure})" if figure else "done"
        else:
            said = f"not done: {step.reason}"
        wrapped(console, f"{rule.key:<4}{rule.title}: {said}", indent="  ")
    if answers.first_piece:
        wrapped(console, f"first piece: {answers.first_piece}", indent="  ")
    if answers.limit:
        wrapped(console, f"limited to: {answers.limit}", indent="  ")
    if result == ACCEPTED and (answers.first_piece or "").strip().lower() == WAITING:
        wrapped(console, "It does not count before the first piece is measured.", indent="  ")
