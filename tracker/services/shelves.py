"""A ledger sorted by operation, for verbs that look at many: each question is then about a handful of records."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tracker.frozen import replace
from tracker.records.events import RevisionRecord
from tracker.records.stored import Ledger, Stored


@dataclass(slots=True)
class Shelves:
    """Hands out, for an operation, the ledger of its revisions alone."""

    ledger: Ledger
    _sorted: dict[tuple[str, str], list[Stored]] | None = None

    def revisions_of(self, job: str, operation: str) -> Ledger:
        """A ledger that holds this operation's revision records and nothing else."""
        return replace(self.ledger, records=tuple(self.sorted().get(_key(job, operation), ())))

    def sorted(self) -> Mapping[tuple[str, str], Sequence[Stored]]:
        """Its revision records by job and operation; asked for before processes part, each of them has it."""
        if self._sorted is None:
            self._sorted = {}
            for stored in self.ledger.records:
                record = stored.record
                if isinstance(record, RevisionRecord):
                    self._sorted.setdefault(_key(record.job, record.operation), []).append(stored)
        return self._sorted


def _key(job: str | None, operation: str | None) -> tuple[str, str]:
    return (job or "").casefold(), (operation or "").casefold()
