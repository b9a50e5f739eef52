"""What the checks said at check-in, as a revision record keeps it.

Findings that say the same for every machine the operation was checked for are kept once; of one rule at most
`_MOST` that stand, with how many more there are: a record is read by people, and a surface may trip a rule on every
line.
"""

from collections.abc import Iterable, Iterator

from tracker.checks.finding import Finding
from tracker.checks.registry import CHECKS_VERSION
from tracker.checks.subject import OnRecord
from tracker.frozen import dataclass, replace
from tracker.records.events import Finding as KeptFinding
from tracker.records.shop import Shop
from tracker.services.operation_text import OperationText
from tracker.services.verifying import Verified, verified
from tracker.services.verifying import kept as as_kept

_MOST = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """The checks of one operation: ``findings`` as kept, ``version`` of the rules, and all that was said."""

    findings: tuple[KeptFinding, ...]
    version: int
    verified: Verified


def checked(text: OperationText, shop: Shop, on_record: OnRecord) -> Checked:
    """Run every check over an operation for each of its machines."""
    said = verified(text, shop, on_record=on_record)
    return Checked(findings=tuple(kept(said)), version=CHECKS_VERSION, verified=said)


def kept(said: Verified) -> Iterator[KeptFinding]:
    """The findings as a record keeps them: once for all machines, the first of each rule that stand."""
    machines: dict[KeptFinding, list[str]] = {}
    for finding in said.findings:
        machines.setdefault(_plain(finding), []).append(finding.machine or "")
    rows: list[KeptFinding] = []
    for row, found_for in machines.items():
        everywhere = "" in found_for or set(found_for) >= set(said.machines)
        rows += [row] if everywhere else [replace(row, machine=name) for name in found_for]
    yield from _first_of_each(rows)


def _plain(finding: Finding) -> KeptFinding:
    return replace(as_kept(finding), waived_by=finding.waived.by if finding.waived else None)


def _first_of_each(rows: Iterable[KeptFinding]) -> Iterator[KeptFinding]:
    """All of a rule up to `_MOST`, waived and not by themselves; behind them one row that counts the rest."""
    count: dict[tuple[str, str | None], int] = {}
    left: dict[tuple[str, str | None], tuple[KeptFinding, int]] = {}
    for row in rows:
        key = (row.rule, row.waived_by)
        count[key] = count.get(key, 0) + 1
        if count[key] <= _MOST:
            yield row
        else:
            left[key] = (row, left[key][1] + 1 if key in left else 1)
    for row, more in left.values():
        yield replace(row, message=f"{more} more findings of this rule", line=None, tool=None, machine=None)
