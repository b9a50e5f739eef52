"""``witness``: a second copy that never follows a rewrite, derives every release again, and keeps a journal.

New branches and tags are taken, branches that went on are followed. What went back, was moved or is gone is a finding:
the copy keeps what it had, and puts what it saw aside under ``refs/seen/``. A branch that is gone and whose work is
in another branch is no finding. The kept record is audited each time; its problems of severity refuse are findings.

Lines of the journal hold each other (`tracker.chained`).
"""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from tracker.chained import links, next_line
from tracker.clock import file_stamp, utc_text
from tracker.errors import CouldNot
from tracker.services.audit_report import AuditReport
from tracker.services.ports_witness import Copy, Journal
from tracker.services.problem import REFUSE, Problem

_BRANCHES = "refs/heads/"


@dataclass(frozen=True, slots=True, kw_only=True)
class WitnessReport:
    """What one look at the source found; ``audit`` of the kept copy, ``changed`` references that were followed."""

    at: str
    source: str
    references: int
    changed: int
    findings: tuple[Problem, ...]
    audit: AuditReport
    line: int


def witness(
    copy: Copy, journal: Journal, audited: Callable[[], AuditReport], *, source: str, now: datetime
) -> WitnessReport:
    """Look at the source once.

    Args:
        copy: of the source.
        journal: of this witness.
        audited: audits the copy as it is kept by then.
        source: as a person named it.
        now: for the journal.

    Raises:
        CouldNot: ``unreachable``, after the journal has said so; whatever reading the copy meets.
    """
    lines = journal.lines()
    kept = copy.kept()
    broken = [*journal_faults(lines, journal.last())]
    if lines and not kept:
        words = "the journal speaks of looks before, and the copy they filled is gone"
        broken.append(_refuse("copy-lost", "record.git", words))
    try:
        seen = copy.see()
    except CouldNot as fault:
        if lines:  # a witness that never saw anything has nothing to say
            _write(journal, now, {"source": source, "unreachable": fault.what, "findings": _plain(broken)})
        raise
    changed, turned = _follow(copy, kept, seen, file_stamp(now))
    report = audited()
    findings = (*broken, *turned, *(one for one in report.problems if one.severity == REFUSE))
    line = _write(
        journal,
        now,
        {
            "source": source,
            "references": len(seen),
            "references_sha256": _digest(seen),
            "changed": {ref: [kept.get(ref), seen.get(ref)] for ref in _different(kept, seen)},
            "releases": report.releases,
            "records": report.records,
            "findings": _plain(findings),
        },
    )
    return WitnessReport(
        at=utc_text(now),
        source=source,
        references=len(seen),
        changed=changed,
        findings=findings,
        audit=report,
        line=line,
    )


def journal_faults(lines: Sequence[bytes], last: tuple[int, str] | None) -> tuple[Problem, ...]:
    """Where the journal is not what was written: breaks of its chain, and lines missing at its end."""
    wrong = [
        f"line {one.number} does not follow line {one.number - 1}: one of them was changed or taken out"
        for one in links(lines)
        if not one.follows
    ]
    if last is not None and (
        len(lines) < last[0] or hashlib.sha256(lines[last[0] - 1]).hexdigest() != last[1]
    ):
        wrong.append(f"{last[0]} lines were written, and the last of them is not there as it was")
    return tuple(_refuse("journal-broken", "journal", words) for words in wrong)


def _follow(
    copy: Copy, kept: Mapping[str, str], seen: Mapping[str, str], stamp: str
) -> tuple[int, list[Problem]]:
    """Follow what may be followed; how many, and what may not."""
    changed = 0
    found: list[Problem] = []
    for ref, new in sorted(seen.items()):
        old = kept.get(ref)
        if old == new:
            continue
        if old is None or (ref.startswith(_BRANCHES) and copy.holds(old, new)):
            copy.keep(ref, new, old)
            changed += 1
            continue
        copy.put_aside(ref, new, stamp)
        if ref.startswith(_BRANCHES):
            words = f"{new[:12]} does not hold {old[:12]}, where this branch stood before"
            found.append(_refuse("rewritten-history", ref, words))
        else:
            words = f"it named {old[:12]}, and names {new[:12]} now"
            found.append(_refuse("tag-moved-at-source", ref, words))
    branches = [new for ref, new in seen.items() if ref.startswith(_BRANCHES)]
    for ref, old in sorted(kept.items()):
        if ref in seen:
            continue
        if not ref.startswith(_BRANCHES):
            found.append(_refuse("deleted-tag", ref, f"it is gone; it named {old[:12]}"))
        elif not any(copy.holds(old, new) for new in branches):
            found.append(_refuse("deleted-branch", ref, f"it is gone, and no branch holds {old[:12]}"))
    return changed, found


def _different(kept: Mapping[str, str], seen: Mapping[str, str]) -> list[str]:
    return sorted(ref for ref in {*kept, *seen} if kept.get(ref) != seen.get(ref))


def _digest(seen: Mapping[str, str]) -> str:
    rows = "".join(f"{object_id} {ref}\n" for ref, object_id in sorted(seen.items()))
    return hashlib.sha256(rows.encode("utf-8", "surrogateescape")).hexdigest()


def _plain(findings: Sequence[Problem]) -> list[dict[str, str]]:
    return [{"problem": one.problem, "where": one.where, "message": one.message} for one in findings]


def _write(journal: Journal, now: datetime, said: Mapping[str, object]) -> int:
    lines = journal.lines()
    journal.add(next_line(lines, {"at": utc_text(now), **said}))
    return len(lines) + 1


def _refuse(name: str, where: str, message: str) -> Problem:
    return Problem(problem=name, severity=REFUSE, where=where, message=message)
