"""``prove``: a named person says that a revision was proved on a machine, or turned down, or is not finished.

1. `begin` finds the revision and looks whether anything speaks against proving it here and now: who may, what lies in
   the working folder, what was begun before.
2. Files off the control are held against the revision; an edited one is checked in first, in the prover's name.
3. `finish` weighs the answers and puts the record down. What is not enough to be accepted can be kept as unfinished.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from tracker.errors import BadCall, Refused
from tracker.policy.days import entered_late
from tracker.policy.lapse import profile
from tracker.policy.may import require
from tracker.policy.spelled import counted
from tracker.policy.standing import standing
from tracker.policy.states import CARRIED, LAPSED, PROVEN, Standing, standing_words
from tracker.records.encode import machine_profile
from tracker.records.events import FileOf, Finding, FirstPiece, ProofRecord, Step
from tracker.records.problems import nearest_fix
from tracker.records.shop import Machine, Person
from tracker.records.stored import Stored
from tracker.services.checkin import CheckInReport, check_in
from tracker.services.comparing import PlainFile
from tracker.services.desk import Desk, acting, has_been, opening
from tracker.services.edit_findings import refuse_sheet_behind
from tracker.services.machine_named import machine_named
from tracker.services.naming import Named
from tracker.services.prove_form import BlankForm, form_text
from tracker.services.prove_open import begun_before
from tracker.services.prove_ran import Ran, off_control
from tracker.services.prove_steps import (
    ACCEPTED,
    CAUSES,
    REJECTED,
    UNFINISHED,
    WAITING,
    lacking,
    merged,
)
from tracker.services.prove_tools import usual_tools
from tracker.services.prove_units import units_of_text
from tracker.services.prove_words import proving_words
from tracker.services.recording import one_line, put_down
from tracker.services.revision_text import revision_text
from tracker.services.target import Target, target, untouched


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """A prove-out that may go on.

    ``tools`` of a section proof in their one way of writing; ``standing`` as it is before; ``unfinished`` the record of
    one begun before; ``units`` of the text, None where it says none; ``notes`` what a person should know.
    """

    target: Target
    machine: Machine
    person: Person
    tools: tuple[str, ...]
    again: bool
    standing: Standing
    unfinished: Stored | None
    units: str | None = None
    ran: Ran | None = None
    checked_in: CheckInReport | None = None
    notes: tuple[str, ...] = ()

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the checks found for this machine when the revision was checked in."""
        return tuple(one for one in self.target.record.findings if one.machine in (None, self.machine.id))

    @property
    def short(self) -> bool:
        """Whether the short list of steps is enough: some tools' sections, or the renewal of a lapsed proof."""
        return bool(self.tools) or self.again

    @property
    def before(self) -> tuple[Step, ...]:
        """The answers of the prove-out begun before."""
        record = self.unfinished.record if self.unfinished else None
        return record.steps if isinstance(record, ProofRecord) else ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """What the prover says. ``result`` None keeps it as unfinished; ``first_piece`` a report, or ``waiting``.

    ``take_up``: the answers of the prove-out begun before count where these say nothing.
    """

    result: str | None = None
    cause: str | None = None
    steps: tuple[Step, ...] = ()
    first_piece: str | None = None
    note: str | None = None
    limit: str | None = None
    at: datetime | None = None
    take_up: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ProveReport:
    """What was put down; ``lacks`` what an unfinished one still needs; ``standing`` as it is afterwards."""

    begun: Begun
    record: ProofRecord
    path: str
    commit: str
    lacks: tuple[str, ...]
    standing: Standing
    notes: tuple[str, ...] = ()


def begin(
    desk: Desk,
    named: Named,
    *,
    machine: str | None,
    by: str | None,
    tools: Sequence[str] = (),
    again: bool = False,
    rejects: bool = False,
) -> Begun:
    """Look whether ``named`` may be proved there by that person; writes nothing.

    ``rejects``: it will be a rejection, for which nobody needs a key.

    Raises:
        BadCall: unknown job, operation, revision, machine, person or tool; ``wrong-call`` for tools with ``again``.
        Refused: ``wrong-role``, ``uncommitted-edits``, ``not-the-revision``, ``nothing-to-renew``, ``detached-head``.
        CouldNot: what reading the repository raises.
    """
    if tools and again:
        raise BadCall("wrong-call", "--tools and --again do not go together", fix="leave one of them out")
    found = target(desk, named)
    place = machine_named(found.shop, machine)
    person = acting(desk, found.shop, by)
    require(found.shop, person, "prove", desk.clock.now())
    if desk.signer is not None and not rejects:
        desk.signer().ready(person.initials, found.shop)
    untouched(desk, found)
    chosen = usual_tools(desk, found, tools)
    seen = standing(found.ledger, found.stored, place, desk.clock.now())
    if again:
        _may_renew(found, place, seen)
    return Begun(
        target=found,
        machine=place,
        person=person,
        tools=chosen,
        again=again,
        standing=seen,
        units=units_of_text(revision_text(desk.repo, found.stored)),
        unfinished=begun_before(found, place, tools=chosen, again=again),
        notes=tuple(_notes(desk, found, place)),
    )


def blank_form(
    desk: Desk, named: Named, *, machine: str | None, short: bool, again: bool = False
) -> BlankForm:
    """The empty form for a revision; anybody may have it, nobody has signed anything.

    Raises BadCall for unknown names, Refused (``nothing-to-renew``) for a short form nobody could sign.
    """
    found = target(desk, named)
    place = machine_named(found.shop, machine)
    seen = standing(found.ledger, found.stored, place, desk.clock.now())
    if again:
        _may_renew(found, place, seen)
    text = form_text(
        heading=f"{found.spelled} on {place.id}",
        display_id=found.display_id,
        standing=f"now: {standing_words(seen.state, seen.reason)}",
        caution=proving_words(place.id, found.label, seen.state),
        units=units_of_text(revision_text(desk.repo, found.stored)),
        short=short,
    )
    return BlankForm(target=found, text=text)


def with_ran(
    desk: Desk, begun: Begun, files: Sequence[PlainFile], *, reason: str | None = None, take_in: bool = False
) -> Begun:
    """The same with the files off the control; an edited one is checked in first when ``take_in`` says so.

    Without ``take_in`` nothing is written, and ``ran.edited`` of the answer says what would be checked in. Raises what
    `off_control` and the check-in raise, and Refused (``sheet-behind``) for an edit the setup sheet does not follow.
    """
    ran = off_control(desk, begun.target, files)
    if not ran.edited or not take_in:
        return replace(begun, ran=ran)
    texts = {one.path: one.data for one in ran.edited}
    kinds = {kind for one in ran.edited for kind in one.difference.kinds}
    found = begun.target
    refuse_sheet_behind(desk.repo.tree(), found.ledger, found.job, found.operation, texts, kinds)
    done = check_in(
        desk,
        [Named(job=begun.target.job, operation=begun.target.operation)],
        by=begun.person.initials,
        reason=one_line(reason) or f"edited at the control while proving on {begun.machine.id}",
        texts=texts,
    )
    fresh = begin(
        desk,
        Named(job=begun.target.job, operation=begun.target.operation),
        machine=begun.machine.id,
        by=begun.person.initials,
        tools=begun.tools,
        again=begun.again,
    )
    return replace(fresh, ran=off_control(desk, fresh.target, files), checked_in=done)


def _kept(begun: Begun) -> str:
    """Of a proof that is refused, that the edit off the control is a revision all the same."""
    return f"; the edit is checked in as {begun.target.label} all the same" if begun.checked_in else ""


def finish(
    desk: Desk, begun: Begun, answers: Answers, *, prior: Mapping[str, object] | None = None
) -> ProveReport:
    """Put the record down.

    ``prior``: what is said of a proof kept on paper; then no steps are asked for.

    Raises:
        BadCall: ``no-cause``, ``unknown-cause``, ``wrong-call``, ``future-time``.
        Refused: ``steps-missing`` (with every reason) when an accepted proof lacks something, ``edited-at-control``,
            ``moved``.
        CouldNot: ``locked``.
    """
    is_sensible(desk, answers)
    if begun.ran is not None and begun.ran.edited:
        names = ", ".join(one.difference.new for one in begun.ran.edited)
        raise Refused(
            "edited-at-control",
            f"{names} is not the text of {begun.target.label}: it was edited at the control",
            fix="check it in first: prove --ran does it when told --yes",
        )
    steps = merged(begun.before if answers.take_up else (), answers.steps)
    lacks = () if prior else lacking(steps, short=begun.short, limit=one_line(answers.limit))
    if answers.result == ACCEPTED and lacks:
        missing = f"{counted(len(lacks), 'thing is', 'things are')} missing{_kept(begun)}"
        raise Refused(
            "steps-missing",
            f"{begun.target.spelled} cannot be accepted on {begun.machine.id}: {missing}",
            fix="answer them, or leave out --accept: what was answered is then kept as an unfinished prove-out",
            reasons=lacks,
        )
    record = _record(desk, begun, answers, steps, prior)
    done = put_down(
        desk,
        begun.target.ledger,
        begun.target.head,
        begun.target.job_folder,
        [record],
        author=begun.person,
        message=_message(begun, record),
    )
    after = standing(desk.repo.ledger(), begun.target.stored, begun.machine, desk.clock.now())
    return ProveReport(
        begun=begun,
        record=record,
        path=done.paths[0],
        commit=done.commit,
        lacks=lacks if record.result == UNFINISHED else (),
        standing=after,
        notes=(*begun.notes, *_late(begun, record)),
    )


def is_sensible(desk: Desk, answers: Answers) -> None:
    """Raise BadCall (``no-cause``, ``wrong-call``, ``unknown-cause``, ``future-time``) for what cannot be meant."""
    if answers.result == REJECTED and not answers.cause:
        raise BadCall("no-cause", "why was it rejected?", fix=f"say it with --cause: {', '.join(CAUSES)}")
    if answers.cause and answers.result != REJECTED:
        raise BadCall("wrong-call", "--cause goes with --reject only", fix="leave it out")
    if answers.cause and answers.cause not in CAUSES:
        raise BadCall(
            "unknown-cause",
            f"{answers.cause!r} is no cause of a rejection",
            fix=nearest_fix(answers.cause, CAUSES, "causes"),
        )
    has_been(desk, answers.at)


def _may_renew(found: Target, machine: Machine, seen: Standing) -> None:
    """The short form renews a proof of the same text on an unchanged machine, nothing else."""
    full = (
        f"prove it in full: proveout prove {found.job}/{found.operation}@{found.label} --machine {machine.id}"
    )
    base = seen.base.record if seen.base else None
    owed = [one for one in seen.clears if not one.startswith("proveout prove ")]
    if seen.state not in (LAPSED, PROVEN, CARRIED) or not isinstance(base, ProofRecord):
        raise Refused(
            "nothing-to-renew",
            f"{found.spelled} is {seen.state} on {machine.id}: {seen.reason}",
            fix=f"{'; '.join(owed)}; or {full}" if owed else full,
        )
    if base.operation_fingerprint != found.record.operation_fingerprint:
        raise Refused(
            "nothing-to-renew",
            f"the full proof is of another text than {found.label}: {seen.reason}",
            fix=full,
        )
    was, now = profile(base.machine_profile), profile(machine_profile(machine))
    changed = sorted(key for key in was.keys() | now.keys() if was.get(key) != now.get(key))
    if changed:
        raise Refused(
            "nothing-to-renew", f"{machine.id} has changed since the proof: {', '.join(changed)}", fix=full
        )


def _record(
    desk: Desk, begun: Begun, answers: Answers, steps: tuple[Step, ...], prior: Mapping[str, object] | None
) -> ProofRecord:
    found = begun.target
    files: tuple[FileOf, ...] = begun.ran.files if begun.ran else found.record.files
    return ProofRecord(
        job=found.record.job,
        operation=found.record.operation,
        revision=found.stored.name,
        reason=one_line(answers.note),
        machine=begun.machine.id,
        operation_fingerprint=found.record.operation_fingerprint,
        rule_version=found.record.rule_version,
        files=files,
        machine_profile=machine_profile(begun.machine),
        result=answers.result or UNFINISHED,
        cause=answers.cause,
        steps=steps,
        first_piece=_first_piece(answers, begun.person),
        tools=begun.tools,
        limits=one_line(answers.limit),
        again=begun.again,
        prior=prior,
        **opening(desk, begun.person, at=answers.at),
    )


def _first_piece(answers: Answers, person: Person) -> FirstPiece | None:
    said = one_line(answers.first_piece)
    if said is None:
        return None
    if said.lower() == WAITING:
        return FirstPiece(result=WAITING)
    if answers.result is None:  # measured, and the prove-out is not finished: it does not count yet
        return FirstPiece(report=said, by=person.initials, result=WAITING)
    result = REJECTED if answers.result == REJECTED else ACCEPTED
    return FirstPiece(report=said, by=person.initials, result=result)


def _message(begun: Begun, record: ProofRecord) -> str:
    what = f"tools {', '.join(begun.tools)} " if begun.tools else "on paper, " if record.prior else ""
    said = f": {record.reason}" if record.reason else ""
    return f"{begun.target.spelled}: {what}proved on {begun.machine.id}, {record.result}{said}"


def _notes(desk: Desk, found: Target, machine: Machine) -> list[str]:
    notes = []
    if not found.is_newest:
        notes.append(f"{found.label} is not the newest revision of {found.job}/{found.operation}")
    operation = revision_text(desk.repo, found.stored).operation
    meant = operation.machines if operation else ()
    if meant and machine.id.casefold() not in [one.casefold() for one in meant]:
        notes.append(
            f"{machine.id} is not among the machines of {found.operation} in job.toml: {', '.join(meant)}; "
            "the checks of its programs were not made for it"
        )
    return notes


def _late(begun: Begun, record: ProofRecord) -> list[str]:
    notes = ["entered late"] if entered_late(record) else []
    if record.at < begun.target.record.entered:
        notes.append(f"the time said lies before {begun.target.label} was checked in")
    return notes
