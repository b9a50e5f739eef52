"""What a list of an audit is made from, and how a row of one is made."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from tracker.policy.find import label
from tracker.policy.standing import Judge
from tracker.policy.strikes import struck
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk
from tracker.services.revision_text import ShownNames

Row = Mapping[str, str]
Rows = Iterator[Row]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a list is made from: the desk, its ledger, today's judge."""

    desk: Desk
    ledger: Ledger
    judge: Judge


def row(stored: Stored, **more: str | None) -> Row:
    """What it is of, the cells, and the path of the record it stands on; a cell without anything is ``-``."""
    record = stored.record
    place = "/".join(part for part in (record.job, record.operation) if part)
    what = f"{place}@{label(record.revision)}" if record.revision else place or "-"
    return {"what": what, **{name: text or "-" for name, text in more.items()}, "record": stored.path}


def with_lines_through(ledger: Ledger, rows: Iterable[Row]) -> Rows:
    """The rows; what stands on a record with a line through it says so."""
    gone = struck(ledger)
    for one in rows:
        yield {**one, "what": f"{one['what']}, struck"} if one["record"] in gone else one


def told_apart(ledger: Ledger, rows: Iterable[Row]) -> Rows:
    """The rows, each revision with its own digits where another one has the same number."""
    shown = ShownNames(ledger)
    by_path = {stored.path: stored for stored in ledger.records}
    for one in rows:
        stored = by_path.get(one["record"])
        name = shown.of(stored) if stored is not None else None
        plain = f"@{label(name)}"
        yield (
            {**one, "what": one["what"].removesuffix(plain) + f"@{name}"}
            if name and one["what"].endswith(plain)
            else one
        )
