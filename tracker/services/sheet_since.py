"""What changed on a sheet's revision since the last full proof on that machine."""

from collections.abc import Iterator
from datetime import datetime

from tracker.frozen import dataclass
from tracker.nc.compare import slower_applies
from tracker.nc.kinds import POST, in_order
from tracker.policy.find import by_name, same_name, struck
from tracker.policy.groups import same_machine
from tracker.policy.proofs import is_full
from tracker.policy.states import Standing
from tracker.records.events import ProofRecord
from tracker.records.shop import Machine, Shop
from tracker.records.stored import Stored
from tracker.services.comparing_files import as_slower
from tracker.services.difference import difference, is_lathe
from tracker.services.ports import Repository
from tracker.services.recorded import Recorded
from tracker.services.revision_text import RevisionText, revision_text, shown_name
from tracker.services.sheet_words import sheet_words


@dataclass(frozen=True, slots=True, kw_only=True)
class Since:
    """The last full proof there, and how the revision differs from what was proved.

    ``revision`` as shown; ``tools`` whose sections changed, None for all; ``words`` the values of the sheet that
    differ; ``itself``: this very revision was proved; ``why`` set where the two could not be compared.
    """

    revision: str
    machine: str
    by: str
    at: datetime
    itself: bool = False
    kinds: tuple[str, ...] = ()
    tools: tuple[str, ...] | None = ()
    words: tuple[str, ...] = ()
    why: str | None = None


def since_last_proof(
    repo: Repository, found: Recorded, text: RevisionText, machine: Machine, seen: Standing
) -> Since | None:
    """Against the proof the standing rests on, else the latest accepted full one there; None where there is none."""
    proof = seen.base or _latest(found, machine)
    if proof is None or not isinstance(proof.record, ProofRecord):
        return None
    record = proof.record
    proved = by_name(found.ledger, found.job, found.operation, record.revision)
    label = shown_name(proved, found.ledger) if proved else "?"
    if proved is not None and proved.name == found.stored.name:
        return Since(revision=label, machine=record.machine, by=record.by, at=record.at, itself=True)
    kinds, tools, words, why = _difference(repo, found.ledger.shop, proved, text)
    return Since(
        revision=label,
        machine=record.machine,
        by=record.by,
        at=record.at,
        kinds=kinds,
        tools=tools,
        words=words,
        why=why,
    )


def _latest(found: Recorded, machine: Machine) -> Stored | None:
    latest: Stored | None = None
    for stored in _full_proofs(found, machine):
        if latest is None or found.ledger.later(stored, latest):
            latest = stored
    return latest


def _full_proofs(found: Recorded, machine: Machine) -> Iterator[Stored]:
    gone = struck(found.ledger)
    for stored in found.ledger.records:
        record = stored.record
        if (
            isinstance(record, ProofRecord)
            and record.result == "accepted"
            and is_full(record)
            and stored.in_hand
            and stored.path not in gone
            and same_machine(record.machine, machine.id)
            and same_name(record.job, found.job)
            and same_name(record.operation, found.operation)
        ):
            yield stored


_Told = tuple[tuple[str, ...], tuple[str, ...] | None, tuple[str, ...], str | None]


def _difference(repo: Repository, shop: Shop, proved: Stored | None, text: RevisionText) -> _Told:
    old = revision_text(repo, proved) if proved is not None else None
    if old is None or old.lost or old.sheet is None or text.sheet is None:
        return (), None, (), "what was proved cannot be read back"
    told = difference(
        old.programs,
        text.programs,
        old_sheet=old.sheet,
        new_sheet=text.sheet,
        strict=old.record.strict or text.record.strict,
        lathe=is_lathe(shop, text.sheet[1]),
    )
    slower = slower_applies(told.slower, shop.policy.slower_percent)
    kinds = {as_slower(kind, slower) for kind in told.kinds}
    if None not in (old.record.post, text.record.post) and old.record.post != text.record.post:
        kinds.add(POST)
    words = tuple(change.words for change in sheet_words(old.sheet, text.sheet))
    return tuple(in_order(kinds)), told.sections, words, None
