"""What a file that was put down is by its bytes and its code, whatever the PC that put it down knew.

It may be what another PC exported, or an edit that became a revision somewhere else, as it was or tidied.
"""

from dataclasses import dataclass, field, replace

from tracker.records.events import CollectRecord, ExportRecord, OnStick, RevisionRecord
from tracker.records.stored import Ledger
from tracker.services import collect_report as verdicts

TAKEN_IN = "taken-in"
"""Said in place of a verdict where a file is named as the revision it became."""

NOT_ITSELF = frozenset({verdicts.CHANGED_CODE, verdicts.INCOMPLETE, verdicts.DAMAGED})
"""Verdicts that name the text a file was, which it is not any more."""
Written = dict[str, tuple[ExportRecord, OnStick]]
"""What exports wrote, by SHA-256: the last one and the file."""


@dataclass(slots=True, kw_only=True)
class Told:
    """What tells it: ``written`` by exports, and the last revision that holds a text, of one operation (``of``) and of any.

    Revisions are found by SHA-256 and by the fingerprint of the code.
    """

    written: Written = field(default_factory=dict)
    of: dict[tuple[str, str | None, str | None], str] = field(default_factory=dict)
    any: dict[str, OnStick] = field(default_factory=dict)

    @classmethod
    def ever(cls, ledger: Ledger) -> "Told":
        """All there ever was, whenever it was."""
        found = cls()
        for stored in ledger.records:
            record = stored.record
            if isinstance(record, ExportRecord):
                found.written |= {file.sha256: (record, file) for file in record.files}
            elif isinstance(record, RevisionRecord):
                found._add_revision(stored.name, record)
        return found

    def _add_revision(self, name: str, record: RevisionRecord) -> None:
        for file in record.files:
            text = OnStick(
                path="",
                sha256=file.raw_sha256,
                job=record.job,
                operation=record.operation,
                revision=name,
                fingerprint=file.fingerprint,
                program=file.path,
                verdict=verdicts.SAME_CODE,
            )
            # a fingerprint that counts line numbers as code is none a collect put down
            for key in (file.raw_sha256, *(() if record.strict else (file.fingerprint,))):
                self.of[key, record.job, record.operation] = name
                self.any[key] = text

    def files_of(self, record: ExportRecord | CollectRecord) -> tuple[OnStick, ...]:
        """What was written, or seen by what is known now: every file, and an edit once more as the revision it became."""
        if isinstance(record, ExportRecord):
            return record.files
        files = [self.told(file) for file in record.files]
        taken = (as_taken(file) for file in files if file.taken_as is not None)
        return (*files, *taken, *(other for file in files if (other := self.of_another(file)) is not None))

    def of_another(self, file: OnStick) -> OnStick | None:
        """The revision of another operation than it was told for that an edit is by now, by its bytes or its code."""
        if file.verdict not in NOT_ITSELF or file.taken_as is not None:
            return None
        text = self._any(file)
        same = text is None or (text.job, text.operation) == (file.job, file.operation)
        return None if same else text

    def _any(self, file: OnStick) -> OnStick | None:
        texts = (self.any[key] for key in _keys(file) if key in self.any)
        return next((replace(text, path=file.path, sha256=file.sha256) for text in texts), None)

    def told(self, file: OnStick) -> OnStick:
        """A file as it was put down, by all that is known now."""
        return self._became(self._as_written(file))

    def _as_written(self, file: OnStick) -> OnStick:
        """By its bytes where a PC that had not shared did not know that another one's export wrote them."""
        known = self.written.get(file.sha256)
        judged = file.revision is not None and file.verdict not in NOT_ITSELF
        if known is None or judged or file.taken_as is not None or file.verdict == verdicts.MISSING:
            return file
        return replace(known[1], path=file.path, verdict=verdicts.AS_EXPORTED)

    def _became(self, file: OnStick) -> OnStick:
        """An edit that was put down as one with the revision it is by now, and a text nobody knew with what it is."""
        if file.verdict == verdicts.UNKNOWN and file.revision is None:
            return self._any(file) or file
        if file.verdict not in NOT_ITSELF or file.taken_as is not None:
            return file
        names = (self.of.get((key, file.job, file.operation)) for key in _keys(file))
        name = next((one for one in names if one is not None), None)
        # what it was made of is recalled with it
        return file if name in (None, file.revision) else replace(file, taken_as=name)


def _keys(file: OnStick) -> tuple[str, ...]:
    return (file.sha256, file.fingerprint) if file.fingerprint else (file.sha256,)


def as_taken(file: OnStick) -> OnStick:
    """An edit as the revision it became."""
    return replace(file, revision=file.taken_as, release=None, verdict=TAKEN_IN, taken_as=None)
