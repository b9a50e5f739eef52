"""What becomes of the answers of a prove-out when its record cannot be put down: nobody answers twice.

Where others moved the record on meanwhile, the answers are recorded as an unfinished prove-out on the new state. Where
nothing can be written into the record at all (locked, no room, no permission), they are kept as a filled-in form in a
file beside it. Either way the error says where they are and the call that goes on.
"""

from collections.abc import Callable
from dataclasses import replace

from tracker.errors import CouldNot, ProveoutError, Refused
from tracker.records.events import Step
from tracker.services.desk import Desk
from tracker.services.naming import parse_named
from tracker.services.prove import Answers, Begun, ProveReport, begin, finish
from tracker.services.prove_form import filled_form
from tracker.services.prove_steps import ACCEPTED, REJECTED, merged

Keep = Callable[[str, str], str | None]
"""Keeps a text under a name; where it is then, or None where no place would take it."""
_OVERTAKEN = frozenset({"moved", "uncommitted-edits", "unmerged", "detached-head", "changed-meanwhile"})
_NO_SIGNATURE = frozenset({"no-signing-key", "key-not-listed", "no-key-file", "not-a-key"})


def finish_or_keep(desk: Desk, begun: Begun, answers: Answers, keep: Keep) -> ProveReport:
    """`finish`, with the answers kept where the record cannot be put down; raises what `finish` raises."""
    try:
        return finish(desk, begun, answers)
    except ProveoutError as error:
        overtaken = isinstance(error, Refused) and error.name in _OVERTAKEN
        kept = overtaken or isinstance(error, CouldNot) or error.name in _NO_SIGNATURE
        if not kept or not steps_of(begun, answers):
            raise
        if not (overtaken and _kept_in_record(desk, begun, answers, error)):
            keep_in_file(begun, answers, keep, error)
        raise


def keep_in_file(begun: Begun, answers: Answers, keep: Keep, error: ProveoutError) -> None:
    """Keep the answers as a form; ``error`` says where, or holds the form itself where no place would take it."""
    found = begun.target
    name = f"answers-{found.job}-{found.operation}-{begun.machine.id}-{begun.person.initials}.toml"
    steps = steps_of(begun, answers)
    text = filled_form(f"{found.spelled} on {begun.machine.id}", steps)
    place = keep(name, text)
    if place is None:
        error.reasons += ("the answers could not be kept either; they were:", *text.splitlines())
        return
    error.reasons += (f"the answers are kept in {place}",)
    again = f"{_call(begun, answers)} --answers {_quoted(place)}"
    error.fix = f"{error.fix}; then go on with: {again}" if error.fix else f"go on with: {again}"


def steps_of(begun: Begun, answers: Answers) -> tuple[Step, ...]:
    """Everything answered by now."""
    return merged(begun.before if answers.take_up else (), answers.steps)


def _kept_in_record(desk: Desk, begun: Begun, answers: Answers, error: ProveoutError) -> bool:
    """Record the answers as unfinished on what is there now; False where that does not go either."""
    found = begun.target
    unsigned = replace(answers, result=None, cause=None, steps=steps_of(begun, answers), take_up=False)
    try:
        fresh = begin(
            desk,
            parse_named(f"{found.job}/{found.operation}@{found.label}"),
            machine=begun.machine.id,
            by=begun.person.initials,
            tools=begun.tools,
            again=begun.again,
        )
        finish(desk, replace(fresh, ran=begun.ran), unsigned)
    except ProveoutError:
        return False
    error.reasons += ("the answers are kept as an unfinished prove-out; nothing is signed",)
    error.fix = f"look at what changed (proveout history {found.job}), then go on with: {_call(begun, answers)} --continue"
    return True


def _call(begun: Begun, answers: Answers) -> str:
    """The call that signs what was answered."""
    found = begun.target
    words = ["proveout", "prove", f"{found.job}/{found.operation}@{found.label}"]
    words += ["--machine", begun.machine.id, "--by", begun.person.initials]
    words += ["--tools", ",".join(begun.tools)] if begun.tools else []
    words += ["--again"] if begun.again else []
    words += {ACCEPTED: ["--accept"], REJECTED: ["--reject"]}.get(answers.result or "", [])
    said = (
        ("--cause", answers.cause),
        ("--first-piece", answers.first_piece),
        ("--note", answers.note),
        ("--limit", answers.limit),
    )
    for option, text in said:
        words += [option, text] if text else []
    return " ".join(_quoted(word) for word in words)


def _quoted(word: str) -> str:
    """A word as a shell takes it, here and on Windows."""
    plain = word.replace('"', "'")
    return f'"{plain}"' if any(mark in plain for mark in " '&()$\t") else plain
