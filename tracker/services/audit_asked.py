"""What a list of an audit is made from, and how a row of one is made."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from tracker.policy.find import label
from tracker.policy.standing import Judge
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk

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
