"""``audit``: whether the record is whole, and what in it does not hold.

What is looked at, and by what name it is told:

==================== =====================================================================================
damaged-object       an object does not hold the bytes its name stands for
not-looked-at        because of that, something further could not be looked at
record-deleted       a record was taken away somewhere in history, also by a merge
record-changed       a record was changed after it was made, also when that was put back later
unreadable-record    damaged, or written by a newer version
wrong-digits         a revision's name does not open the hash of its own bytes, or names another number
revision-missing     a record speaks of a revision that no record knows
text-not-recorded    the state a revision was made in does not hold the text it names
merged-text          bringing two edits together made a program that nobody wrote, and it was not checked in
never-checked-in     an operation is in the record's folder and no revision was made of it
not-checked-in       a program or the setup sheet changed there since its newest revision
two-revisions        two check-ins side by side wait for a third that follows both
wrong-file           a job.toml that cannot be read, a program that is missing
odd-tag              a name below refs/tags/release/ that is no release's
lightweight-tag      a release tag without a tag object: nobody's name, no words
tag-not-on-commit    a release tag on something that is no state of the shop
renamed-tag          a tag object that was made for another name
planted-tag          a release tag no release record knows
tag-without-record   a release tag that does not name its record with its hash
moved-tag            a release tag on another state than the one its record was made in
release-not-derived  a release the gate would not open for: its own history does not bear it out
missing-tag          a release record whose tag was deleted, or never made
release-twice        two records of one release number
ran-not-usable       a run of what was not proven on that machine, or held, withdrawn, lapsed, when it ran
replaced-objects     git was told to show other objects than were recorded
==================== =====================================================================================

Beside these a state a server would have refused, by the name of the rule (`audit_commits` says which it leaves out), and a
release tag in the name of somebody who has no part in the release (``not-its-author``).

Everything is read from what was ever recorded on any branch or tag; a tag's existence is never trusted.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from tracker import __version__
from tracker.checks.registry import CHECKS_VERSION
from tracker.errors import CouldNot
from tracker.nc.identity import RULE_VERSION
from tracker.policy.standing import Judge
from tracker.records.events import ReleaseRecord
from tracker.records.places import SHOP
from tracker.records.stored import Ledger
from tracker.services.audit_commits import audit_attributes, audit_commits, audit_names
from tracker.services.audit_parts import Subject, parts
from tracker.services.audit_records import audit_records
from tracker.services.audit_report import AuditReport, commits_of, commits_values, report_of, values_of
from tracker.services.audit_tags import audit_tags
from tracker.services.audit_texts import texts_merged, texts_of
from tracker.services.desk import Desk
from tracker.services.ports import TagSeen
from tracker.services.ports_audit import BadObject, Evidence
from tracker.services.problem import REFUSE, Looked, Problem
from tracker.services.progress import Tell, quiet
from tracker.services.released import Releases

_AUDIT_VERSION = 6
"""Goes up when the same state may be found otherwise by a changed audit."""
_RULES = f"{__version__} audit-{_AUDIT_VERSION} code-{RULE_VERSION} checks-{CHECKS_VERSION}"


def audit(desk: Desk, evidence: Evidence, tell: Tell = quiet, *, integrity: bool = False) -> AuditReport:
    """Look at everything.

    With ``integrity`` only whether the record is whole: releases are derived again from their records, the checks of
    their programs are not asked again, and nobody looks whether what ran was usable. Then nothing is noted that these
    rest on.

    Every object is hashed again first, each time. What was found before is taken over only for the very same state
    and the same rules; releases that could be derived again, jobs without a run of what was not usable, and jobs
    whose texts are as they were checked in, are not looked at once more.

    Raises CouldNot (``shallow``, ``partial``, ``grafted``, ``damaged``, ``no-shop``) or BadCall for a shop.toml that
    is wrong: then nothing is said about anything.
    """
    bad = evidence.bad_objects()
    if bad:
        return _damaged(desk, evidence, bad, tell, integrity=integrity)
    if integrity:
        return _looked(desk, evidence, tell, integrity=True)
    state = f"{_RULES} {evidence.state()}"
    before = report_of(evidence.found_before(state))
    if before is not None:
        return before
    report = _looked(desk, evidence, tell)
    evidence.note_found(state, values_of(report))
    return report


def _damaged(
    desk: Desk, evidence: Evidence, bad: Sequence[BadObject], tell: Tell, *, integrity: bool
) -> AuditReport:
    """The damage, and whatever can be told in spite of it."""
    problems = [
        Problem(
            problem="damaged-object",
            severity=REFUSE,
            where=f"{one.path} ({one.object_id[:12]})" if one.path else one.object_id,
            message=f"what git keeps as {one.object_id} is not what was recorded: {one.why}",
        )
        for one in bad
    ]
    try:
        report = _looked(desk, evidence, tell, integrity=integrity)
    except CouldNot as fault:
        message = f"because of the damage the rest could not be looked at: {fault.what}"
        problems.append(
            Problem(problem="not-looked-at", severity=REFUSE, where=desk.repo.root, message=message)
        )
        report = AuditReport(
            problems=(), commits=0, programs=0, records=0, releases=0, timezone="UTC", integrity=integrity
        )
    return replace(report, problems=(*problems, *report.problems))


def _looked(desk: Desk, evidence: Evidence, tell: Tell, *, integrity: bool = False) -> AuditReport:
    ledger = desk.repo.ledger()
    walked = evidence.commits()
    subject = Subject(
        desk=desk,
        ledger=ledger,
        evidence=evidence,
        before=evidence.derived_before(_RULES),
        shop=desk.repo.tree().read(SHOP) or b"",
        integrity=integrity,
    )
    problems, tags = audit_tags(ledger, desk.repo.release_tags())
    problems += [
        *audit_records(ledger),
        *texts_merged(ledger, evidence),
        *_replaced(evidence.replaced()),
    ]
    states = _States(evidence, desk)
    found = _parts_found(subject, states, tags, tell)
    commits, names, *rest = found
    problems += [problem for one in rest for problem in one.problems]
    said = {(one.problem, one.where) for one in problems}
    of_states = (*states.found(commits), *names.problems)
    problems += [one for one in of_states if (one.problem, one.where) not in said]
    if not integrity:
        evidence.note_derived(_RULES, {name for one in found for name in one.held})
    return AuditReport(
        problems=tuple(sorted(dict.fromkeys(problems), key=_place)),
        commits=len(walked),
        programs=len(texts_of(ledger)),
        records=len(ledger.records) + len(ledger.unreadable),
        releases=_releases(ledger),
        timezone=ledger.shop.timezone,
        integrity=integrity,
    )


def _parts_found(subject: Subject, states: "_States", tags: Sequence[TagSeen], tell: Tell) -> list[Looked]:
    """What every part found, that of the commits first: it takes longest in one piece; then of names."""
    releases = Releases(subject.desk.repo, subject.ledger, Judge(subject.ledger, subject.desk.clock.now()))
    todo = [states.look, states.names, *parts(subject, releases, tags)]
    found: dict[int, Looked] = {}
    for place, looked in subject.evidence.in_processes(todo):
        tell("parts", len(found), len(todo))
        found[place] = looked
    return [found[place] for place in range(len(todo))]


class _States:
    """Commits held against the rules of the server; those looked at before, under the same rules, not once more."""

    def __init__(self, evidence: Evidence, desk: Desk) -> None:
        self._evidence = evidence
        self._now = desk.clock.now()
        self._tips = evidence.tips()
        before = evidence.judged_before(_RULES)
        known, told_before = commits_of(before) if before is not None else ((), ())
        if not evidence.hold_all(known):  # what a branch that is gone led to is no longer spoken of
            known, told_before = (), ()
        self._told_before = told_before
        self._seen = evidence.history(known)

    def look(self) -> Looked:
        """What is to be told of those that are new."""
        commits = self._seen.new_commits(self._tips)
        return Looked(problems=tuple(audit_commits(self._seen, commits, self._now)))

    def names(self) -> Looked:
        """What is to be told of names, and of rules for bytes, in the states of now."""
        ends = self._evidence.ends()
        return Looked(problems=(*audit_names(self._seen, ends), *audit_attributes(self._seen, ends)))

    def found(self, new: Looked) -> Sequence[Problem]:
        """All that is to be told of commits, noted for the next audit."""
        found = [*self._told_before, *new.problems]
        self._evidence.note_judged(_RULES, commits_values(self._tips, found))
        return found


def _place(problem: Problem) -> tuple[bool, str, str, str]:
    return problem.severity != REFUSE, problem.where, problem.problem, problem.message


def _releases(ledger: Ledger) -> int:
    return sum(1 for stored in ledger.records if isinstance(stored.record, ReleaseRecord))


def _replaced(refs: Sequence[str]) -> Iterable[Problem]:
    for ref in refs:
        message = "git is told to show something else than was recorded; nothing here believes it"
        yield Problem(problem="replaced-objects", severity=REFUSE, where=ref, message=message)
