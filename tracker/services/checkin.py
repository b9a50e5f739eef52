"""``checkin``: record the text of operations as their next revisions, in one commit.

1. The chosen operations are read from the working folder (or with the bytes of ``texts`` in place of programs of the
   last commit: a text off a control).
2. `Planner` says which files go along and which operations get a revision.
3. Each revision names the newest ones before it as origins, with the kinds of change from each, and keeps what the
   checks found and what is waived. Nothing found stands in the way of a check-in.
4. One commit: those files, those records, nothing else.

Equal to the last byte is no error: there is nothing to do, and the report says so.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from tracker.errors import Refused
from tracker.policy.find import number_of
from tracker.policy.may import require
from tracker.records.events import Origin, RevisionRecord
from tracker.records.job import Waiver
from tracker.records.names import revision_file, revision_name
from tracker.records.shop import Person
from tracker.records.stored import Ledger
from tracker.services.changed import look_for_changes
from tracker.services.checkin_plan import Chosen, Plan, Planned, Planner
from tracker.services.desk import Desk, Opening, acting, opening
from tracker.services.findings_kept import Checked, checked
from tracker.services.fits_shop import must_fit
from tracker.services.locate import locate
from tracker.services.naming import Named
from tracker.services.on_record import RecordBeside
from tracker.services.operation_text import OperationText
from tracker.services.origin import Traced, trace
from tracker.services.overlay import Overlay
from tracker.services.path_lint import lint_paths
from tracker.services.paths import folder_of, name_of
from tracker.services.ports import Head, NewFile, Tree
from tracker.services.progress import Tell, quiet, told
from tracker.services.recording import attached_head, reason_text
from tracker.services.verifying import Verified

_MOST_NAMED = 6
"""Operations a commit's message names; the records name them all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedIn:
    """One operation's new revision.

    ``name`` is the record's full name (``r0003-7f3a09c2``); ``because`` the file that reached an operation nobody
    named.
    """

    text: OperationText
    record: RevisionRecord
    name: str
    path: str
    data: bytes
    traced: tuple[Traced, ...]
    verified: Verified
    because: str | None = None

    @property
    def number(self) -> int:
        """3 of r3."""
        return number_of(self.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckInReport:
    """What was done, or with ``dry_run`` what would be.

    ``unchanged`` are the operations with nothing to do; ``only_text`` the files committed although they gave no
    revision (comments of a job.toml); ``names`` what is wrong with file names, in words; ``commit`` None when nothing
    was written.
    """

    checked_in: tuple[CheckedIn, ...]
    unchanged: tuple[OperationText, ...]
    only_text: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    commit: str | None = None
    dry_run: bool = False


def check_in(
    desk: Desk,
    named: Sequence[Named] = (),
    *,
    by: str | None,
    reason: str | None,
    entered_by: str | None = None,
    everything: bool = False,
    off_control: bool | None = None,
    texts: Mapping[str, bytes] | None = None,
    at: datetime | None = None,
    dry_run: bool = False,
    tell: Tell = quiet,
) -> CheckInReport:
    """Check operations in.

    Args:
        desk: where from.
        named: the operations; a job alone means its only one.
        by: initials of the person whose text it is; None: the person git knows.
        reason: why, in a sentence.
        entered_by: initials of the person who types it in for ``by``.
        everything: every operation that changed, instead of ``named``.
        off_control: the text comes off a control, so a setup person may be its author; None: so it is with ``texts``.
        texts: path of a program in the repository -> its bytes; everything else is taken from the last commit.
        at: when it happened, if not now.
        dry_run: say what would be done, write nothing.
        tell: told how many of the operations are done.

    Raises:
        BadCall: unknown names, broken files people write, no reason.
        Refused: ``detached-head``, ``wrong-role``, ``no-code``, ``half-changed``, ``uncommitted-edits``, ``moved``.
        CouldNot: no repository, no shop, shallow clone, locked.
    """
    head = attached_head(desk)
    ledger = desk.repo.ledger()
    shop = ledger.shop
    person = acting(desk, shop, by)
    entering = acting(desk, shop, entered_by) if entered_by is not None else None
    off_control = texts is not None if off_control is None else off_control
    require(shop, person, "checkin", desk.clock.now(), off_control=off_control)
    why = reason_text(reason, "why is this checked in?")
    planner = Planner(desk.repo, shop, ledger, *_states(desk, texts))
    chosen = choose(planner, named, everything=everything)
    plan = planner.plan(chosen)
    _no_edits_lost(desk, ledger, plan, texts)
    _has_code(plan)
    words = opening(desk, person, entered_by=entering, at=at)
    beside = RecordBeside(desk.repo, ledger, planner.work)
    made = tuple(
        _revision(desk, planner, beside, planned, words, why)
        for planned in told(plan.revisions, "operations", tell)
    )
    commit = None if dry_run else _commit(desk, plan, made, person, why, texts, head)
    return CheckInReport(
        checked_in=made,
        unchanged=plan.unchanged,
        only_text=() if made else (*plan.changed, *plan.removed),
        problems=plan.problems,
        names=_names(planner.work, made),
        commit=commit,
        dry_run=dry_run,
    )


def choose(planner: Planner, named: Sequence[Named], *, everything: bool) -> list[Chosen]:
    """The operations meant, each once; raises BadCall for names nothing answers to."""
    found: dict[tuple[str, str], Chosen] = {}
    for one in named:
        job_path, job, operation = locate(planner.work, one, recorded=lambda: planner.base)
        found.setdefault((job_path, operation.id), Chosen(job_path=job_path, job=job, operation=operation))
    for change in look_for_changes(planner) if everything else ():
        chosen = Chosen(job_path=change.job_path, job=change.job, operation=change.operation)
        found.setdefault((chosen.job_path, chosen.operation.id), chosen)
    for chosen in found.values():
        must_fit(planner.work, chosen.job_path, chosen.job, planner.shop, (chosen.operation.id,))
    return list(found.values())


def _names(tree: Tree, made: Sequence[CheckedIn]) -> tuple[str, ...]:
    """What is wrong with the names of the files checked in: not every PC and stick can hold them."""
    ours = {path for one in made for path in one.text.paths}
    return tuple(
        f"{fault.path}: {fault.why}"
        for fault in lint_paths(tree.paths())
        if fault.path in ours or any(fault.why.endswith(f" {path}") for path in ours)
    )


def _states(desk: Desk, texts: Mapping[str, bytes] | None) -> tuple[Tree, Tree]:
    """The last commit, and the state to be checked in."""
    base = desk.repo.tree()
    if texts is None:
        return base, desk.repo.work_tree()
    return base, Overlay(base, base, given=dict(texts))


def _no_edits_lost(desk: Desk, ledger: Ledger, plan: Plan, texts: Mapping[str, bytes] | None) -> None:
    """Refuse to write a text off a control over edits in the working folder, and over one git has and no revision."""
    if texts is None:
        return
    own = {path for planned in plan.revisions for path in planned.text.paths} | set(texts)
    work = desk.repo.work_tree()
    # a call that was killed may have put the very text down already
    there = {path for path, data in texts.items() if work.read(path) == data}
    edited = desk.repo.uncommitted(sorted(own - there))
    if edited:
        raise Refused(
            "uncommitted-edits",
            "the working folder holds edits of the same files; the text off the control would go over them",
            where=edited[0],
            fix="check the edits in first, or put the files back as they were",
            reasons=tuple(edited[1:]),
        )
    strange = _in_no_revision(desk.repo.tree(), ledger, texts)
    if strange:
        raise Refused(
            "uncommitted-edits",
            "the office's text of it was changed and never checked in; the text off the control would take its place",
            where=strange[0],
            fix="check the office's text in first",
            reasons=tuple(strange[1:]),
        )


def _in_no_revision(tree: Tree, ledger: Ledger, texts: Mapping[str, bytes]) -> list[str]:
    """Programs that have revisions, and in the last commit a text that is none of theirs and not the one that is to come."""
    files = [
        file for one in ledger.records if isinstance(one.record, RevisionRecord) for file in one.record.files
    ]
    recorded, digests = {file.path for file in files}, {file.raw_sha256 for file in files}
    now = {path: tree.digest(path) for path in sorted(texts) if path in recorded}
    return [
        path
        for path, sha256 in now.items()
        if sha256 is not None and sha256 not in digests and tree.read(path) != texts[path]
    ]


def _has_code(plan: Plan) -> None:
    for planned in plan.revisions:
        for path in planned.text.codeless:
            data = next(p.data for p in planned.text.programs if p.path == path)
            raise Refused(
                "no-code",
                f"{name_of(path)} is empty" if not data else f"{name_of(path)} holds no code",
                where=path,
                fix="save the program again; an empty file is no text to prove",
            )


def _revision(
    desk: Desk, planner: Planner, beside: RecordBeside, planned: Planned, words: Opening, reason: str
) -> CheckedIn:
    text, ledger, shop = planned.text, beside.ledger, planner.shop
    said = checked(text, shop, beside.of(text))
    traced = tuple(trace(desk.repo, ledger, shop, origin, text) for origin in planned.origins)
    known = planner.known(text.job.number, text.operation.id)
    number = 1 + max((number_of(stored.name) for stored in known), default=0)
    record = _record(text, said, tuple(t.origin for t in traced), number, words, reason)
    data = desk.repo.encode(record)
    path = revision_file(folder_of(text.job_path), text.operation.id, number, data)
    return CheckedIn(
        text=text,
        record=record,
        name=name_of(path).removesuffix(".toml"),
        path=path,
        data=data,
        traced=traced,
        verified=said.verified,
        because=planned.because,
    )


def _record(
    text: OperationText,
    said: Checked,
    origins: tuple[Origin, ...],
    number: int,
    words: Opening,
    reason: str,
) -> RevisionRecord:
    return RevisionRecord(
        job=text.job.number,
        operation=text.operation.id,
        revision=revision_name(number),
        reason=reason,
        operation_fingerprint=text.fingerprint,
        strict=text.strict,
        rule_version=text.rule_version,
        checks_version=said.version,
        sheet_fingerprint=text.sheet_fingerprint,
        files=text.files,
        origins=origins,
        findings=said.findings,
        waivers=tuple(_waiver(waiver) for waiver in text.operation.waivers),
        post=text.post,
        outside=text.outside,
        **words,
    )


def _waiver(waiver: Waiver) -> Mapping[str, object]:
    said = {
        "rule": waiver.rule,
        "tool": waiver.tool,
        "line": waiver.line,
        "reason": waiver.reason,
        "by": waiver.by,
    }
    return {key: value for key, value in said.items() if value is not None}


def _commit(
    desk: Desk,
    plan: Plan,
    made: Sequence[CheckedIn],
    person: Person,
    reason: str,
    texts: Mapping[str, bytes] | None,
    head: Head,
) -> str | None:
    if not made and not plan.changed and not plan.removed:
        return None
    files = [NewFile(path=one.path, data=one.data) for one in made]
    from_work_tree: tuple[str, ...] = plan.changed
    if texts is not None:
        files += [NewFile(path=path, data=texts[path]) for path in plan.changed]
        from_work_tree = ()
    names = [f"{one.record.job}/{one.record.operation} r{one.number}" for one in made]
    what = ", ".join(names[:_MOST_NAMED])
    if len(names) > _MOST_NAMED:
        what += f" and {len(names) - _MOST_NAMED} more"
    return desk.repo.commit(
        files,
        from_work_tree=from_work_tree,
        removed=plan.removed,
        message=f"{what or 'job.toml'}: {reason}",
        author=person,
        at=desk.clock.now(),
        expect=head,
    )
