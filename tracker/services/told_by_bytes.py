"""What a file that was put down is by its bytes, whatever the PC that put it down knew.

It may be what another PC exported, or an edit that became a revision somewhere else.
"""

from dataclasses import replace

from tracker.records.events import CollectRecord, ExportRecord, OnStick, RevisionRecord
from tracker.records.stored import Ledger
from tracker.services import collect_report as verdicts

TAKEN_IN = "taken-in"
"""Said in place of a verdict where a file is named as the revision it became."""

NOT_ITSELF = frozenset({verdicts.CHANGED_CODE, verdicts.INCOMPLETE, verdicts.DAMAGED})
"""Verdicts that name the text a file was, which it is not any more."""
Written = dict[str, tuple[ExportRecord, OnStick]]
"""What exports wrote, by SHA-256: the last one and the file."""


def files_of(record: ExportRecord | CollectRecord) -> tuple[OnStick, ...]:
    """What was written or seen: every file as it was judged, and an edit once more as the revision it became."""
    return (*record.files, *(as_taken(file) for file in record.files if file.taken_as is not None))


def ever_written(ledger: Ledger) -> Written:
    """All of it, whenever it was."""
    records = (one.record for one in ledger.records)
    exports = (one for one in records if isinstance(one, ExportRecord))
    return {file.sha256: (record, file) for record in exports for file in record.files}


def ever_checked_in(ledger: Ledger) -> dict[tuple[str, str | None, str | None], str]:
    """The last revision of an operation that holds these very bytes, by SHA-256, job and operation."""
    return {
        (file.raw_sha256, stored.record.job, stored.record.operation): stored.name
        for stored in ledger.records
        if isinstance(stored.record, RevisionRecord)
        for file in stored.record.files
    }


def by_bytes(ever: Written, file: OnStick) -> OnStick:
    """What came home, by its bytes where a PC that had not shared did not know that another one's export wrote them."""
    known = ever.get(file.sha256)
    judged = file.revision is not None and file.verdict not in NOT_ITSELF
    if known is None or judged or file.taken_as is not None or file.verdict == verdicts.MISSING:
        return file
    return replace(known[1], path=file.path, verdict=verdicts.AS_EXPORTED)


def as_taken(file: OnStick) -> OnStick:
    """An edit as the revision it became."""
    return replace(file, revision=file.taken_as, release=None, verdict=TAKEN_IN, taken_as=None)
