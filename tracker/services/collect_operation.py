"""The operation an edit is one of, as it is in the office today: which of its programs a text is by now."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tracker.policy.find import newest
from tracker.records.stored import Ledger
from tracker.services.known import Known, KnownTexts


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """The operation edits are taken into: its newest revisions' programs by path (several after two clones' work)."""

    job: str
    operation: str
    programs: Mapping[str, Sequence[Known]]

    @property
    def spelled(self) -> str:
        """``4471/op10``."""
        return f"{self.job}/{self.operation}"

    def path_of(self, text: Known) -> str | None:
        """Which of its programs a text is today: by its path, else its code, else its number (the office renamed it)."""
        if text.file.path in self.programs:
            return text.file.path
        if (text.job, text.operation) != (self.job, self.operation):
            return None
        for same in (_of_one_code, _of_one_number):
            found = [path for path, now in self.programs.items() if any(same(text, one) for one in now)]
            if len(found) == 1:
                return found[0]
        return None


def _of_one_code(text: Known, now: Known) -> bool:
    return text.file.fingerprint == now.file.fingerprint


def _of_one_number(text: Known, now: Known) -> bool:
    return text.file.number is not None and text.file.number == now.file.number


def operation_now(ledger: Ledger, known: KnownTexts, job: str, operation: str) -> Operation:
    """The operation by its newest revisions; without programs where it has none."""
    programs: dict[str, list[Known]] = {}
    heads = {stored.name for stored in newest(ledger, job, operation)}
    for text in known.of(job, operation):
        if text.stored.name in heads:
            programs.setdefault(text.file.path, []).append(text)
    return Operation(job=job, operation=operation, programs=programs)
