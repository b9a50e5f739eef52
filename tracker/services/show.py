"""``show``: one revision with everything recorded about it."""

from dataclasses import dataclass

from tracker.errors import CouldNot
from tracker.policy.find import newest, same_name, struck
from tracker.records.events import (
    CountersignRecord,
    MeasuredRecord,
    ProofRecord,
    ReviewRecord,
    RevisionRecord,
)
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk
from tracker.services.naming import Named
from tracker.services.program_text import ProgramText
from tracker.services.recorded import recorded
from tracker.services.revision_text import RevisionText, revision_record, revision_text, shown_name
from tracker.services.signed_views import UNSIGNED, SignedViews
from tracker.services.standings import MachineStanding, standings


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofShown:
    """A proof of a revision with what came to it; ``countersigned`` by whom, ``measured`` the later result."""

    stored: Stored
    record: ProofRecord
    countersigned: tuple[str, ...] = ()
    measured: str | None = None
    struck: bool = False
    signed: str = UNSIGNED


@dataclass(frozen=True, slots=True, kw_only=True)
class ShowReport:
    """A revision.

    ``label`` is ``r5``; ``proofs`` bind to this very record, ``reviews`` lead to it; ``standings`` are those of today,
    a machine each. ``signed`` is what is said of the record's signature; ``signs``: somebody in the shop signs.
    """

    job: str
    operation: str
    label: str
    stored: Stored
    record: RevisionRecord
    text: RevisionText
    is_newest: bool
    timezone: str
    proofs: tuple[ProofShown, ...]
    reviews: tuple[Stored, ...]
    standings: tuple[MachineStanding, ...]
    signed: str = UNSIGNED
    signs: bool = False


def show(desk: Desk, named: Named) -> ShowReport:
    """The revision ``named`` means, the newest where it names none; raises BadCall for names nothing answers to."""
    found = recorded(desk, named)
    ledger, stored = found.ledger, found.stored
    record = revision_record(stored)
    text = revision_text(desk.repo, stored)
    machines = text.operation.machines if text.operation else ()
    own = _own(ledger, stored, found.job, found.operation)
    gone, seals = struck(ledger), SignedViews(desk, ledger)
    return ShowReport(
        job=found.job,
        operation=found.operation,
        label=shown_name(stored, ledger),
        stored=stored,
        record=record,
        text=text,
        is_newest=stored.name in [one.name for one in newest(ledger, found.job, found.operation)],
        timezone=ledger.shop.timezone,
        proofs=tuple(_proof(one, own, seals, is_struck=one.path in gone) for one in _proofs(own)),
        reviews=tuple(one for one in own if isinstance(one.record, ReviewRecord)),
        standings=standings(ledger, stored, machines, desk.clock.now()),
        signed=seals.words(stored),
        signs=seals.anybody,
    )


def main_program(report: ShowReport) -> ProgramText:
    """The revision's main program; raises CouldNot (``damaged``) when its bytes are not there any more."""
    first = report.record.files[0] if report.record.files else None
    program = next((p for p in report.text.programs if first is not None and p.path == first.path), None)
    if program is None:
        raise CouldNot(
            "damaged",
            f"the program of {report.label} cannot be read back as it was recorded",
            where=first.path if first else report.stored.path,
            fix="proveout audit says what is missing; a backup may hold it",
        )
    return program


def _own(ledger: Ledger, stored: Stored, job: str, operation: str) -> tuple[Stored, ...]:
    """Records that name this revision."""
    return tuple(
        one
        for one in ledger.records
        if one.record.revision == stored.name
        and same_name(one.record.job, job)
        and same_name(one.record.operation, operation)
    )


def _proofs(own: tuple[Stored, ...]) -> tuple[Stored, ...]:
    return tuple(one for one in own if isinstance(one.record, ProofRecord))


def _proof(stored: Stored, own: tuple[Stored, ...], seals: SignedViews, *, is_struck: bool) -> ProofShown:
    if not isinstance(stored.record, ProofRecord):  # picked as proofs just before
        raise TypeError(stored.path)
    signed = [
        one.record.by
        for one in own
        if isinstance(one.record, CountersignRecord) and one.record.proof == stored.path
    ]
    measured = [
        one.record.result
        for one in own
        if isinstance(one.record, MeasuredRecord) and one.record.proof == stored.path
    ]
    return ProofShown(
        stored=stored,
        record=stored.record,
        countersigned=tuple(signed),
        measured=measured[-1] if measured else None,
        struck=is_struck,
        signed=seals.words(stored),
    )
