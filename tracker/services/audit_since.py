"""``audit --since RELEASE``: what came after a release, of problems and of lists.

Everything is looked at all the same. A problem is left out only if it is a warning about a record that was in the release's
own history already: where the record itself is in doubt nothing is ever left out, since nobody can say since when.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from tracker.errors import BadCall
from tracker.records.stored import Ledger
from tracker.services.audit_lists import ListReport
from tracker.services.audit_report import AuditReport
from tracker.services.problem import REFUSE
from tracker.services.release_named import release_named, release_records


@dataclass(frozen=True, slots=True, kw_only=True)
class Since:
    """The release asked for, as it is spelled, and the paths of the records that came after it."""

    release: str
    later: frozenset[str]
    earlier: frozenset[str]


def since_release(ledger: Ledger, said: str) -> Since:
    """What came after ``4471@2``; raises BadCall (``bad-name``, ``unknown-release``)."""
    named = release_named(said)
    if named is None:
        raise BadCall("bad-name", f"{said!r} does not name a release", fix="write it like 4471@2")
    commits = [stored.commit for stored in release_records(ledger, named)]
    known = frozenset(
        stored.path
        for stored in ledger.records
        if any(ledger.descends(commit, stored.commit) for commit in commits)
    )
    later = frozenset(stored.path for stored in ledger.records) - known
    return Since(release=f"{named.job}@{named.number}", later=later, earlier=known)


def problems_since(report: AuditReport, since: Since) -> tuple[AuditReport, int]:
    """The report without what is certainly older, and how many problems that were."""
    kept = tuple(one for one in report.problems if one.severity == REFUSE or one.where not in since.earlier)
    return replace(report, problems=kept), len(report.problems) - len(kept)


def list_since(report: ListReport, since: Since) -> ListReport:
    """The rows that stand on records that came after."""
    rows: tuple[Mapping[str, str], ...] = tuple(row for row in report.rows if row["record"] in since.later)
    return replace(report, rows=rows)
