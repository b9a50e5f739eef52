"""When a chain was last used on a machine, and when it lapses.

Rules:

1. The clock starts with the full proof at the root (kept on paper: with the last run it states, if that is earlier or
   later than the proof's day but not after its entry).
2. A run of a revision of the chain, or of its code, on this machine renews it, if on its day standing there was usable
   and had not lapsed, both by the policy of that day. A run entered with a day in the future counts on the day it was entered.
3. A proof of sections the chain rests on, made on this machine, renews it in the same way.
4. The short form (``again``) renews it even after it lapsed, if no code changed since the root, the text is the one
   the root proved, or its code, and the machine's profile is that of the root. Only keys about how files travel may
   differ. What was carried over a change of code is proved in full after it lapsed.
5. Runs and short forms on another machine of the group renew nothing here.
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import date

from tracker.frozen import dataclass, replace
from tracker.policy.book import Book, Entry
from tracker.policy.carry import Chain, among, members
from tracker.policy.days import end_of_day, happened_on, lapse_day, local_date
from tracker.policy.groups import same_machine
from tracker.policy.paper import last_run_of
from tracker.policy.proofs import worth
from tracker.policy.shops import shop_on
from tracker.policy.texts import same_bytes, same_code
from tracker.records.events import ProofRecord, RanRecord, RevisionRecord
from tracker.records.shop import Machine
from tracker.records.stored import Stored

_TRAVEL_KEYS = frozenset({"file_name", "line_end", "characters", "max_line", "names_8_3", "folder", "codes"})
"""How files reach the control, and a list that only checks look at; the rest of a profile is the machine."""

Usable = Callable[[Entry[RevisionRecord], Machine, date], bool]
"""Whether a revision stood usable on a machine on a day, lapse left aside."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """The last day that counts, and the record that says so; ``through`` what kept it young until then."""

    day: date
    stored: Stored
    again: bool = False
    through: tuple[Stored, ...] = ()


def last_use(book: Book, chain: Chain, machine: Machine, usable: Usable) -> Use:
    """The last use of a chain on ``machine``."""
    root = chain.root.proof
    use = Use(day=_root_day(book, root), stored=root.stored)
    events = sorted(
        _events(book, chain, machine), key=lambda event: (event.day, event.stored.order, event.stored.path)
    )
    found: Use | None = use
    while found is not None:
        use = found
        found = _furthest(book, use, events, machine, usable)
    return use


def _furthest(book: Book, use: Use, events: list[Use], machine: Machine, usable: Usable) -> Use | None:
    """The latest event that renews ``use``; asking the latest first spares judging most of them."""
    for event in reversed(events):
        until = lapse_day(use.day, _months_on(book, event.day))
        fresh = until is None or event.day < until
        if event.day > use.day and (event.again or (fresh and _counts(book, event, machine, usable))):
            return replace(event, through=(*use.through, use.stored))
    return None


def _months_on(book: Book, day: date) -> int:
    """After how many months a use counted as too long ago on that day."""
    end = end_of_day(day, book.zone)
    return book.once(("months", day.isoformat()), lambda: shop_on(book.ledger, end).policy.lapse_months)


def lapses_on(book: Book, use: Use) -> date | None:
    """First day on which it counts as lapsed."""
    return lapse_day(use.day, book.policy.lapse_months)


def _root_day(book: Book, root: Entry[ProofRecord]) -> date:
    day = happened_on(root.record, book.zone)
    stated = last_run_of(root.record.prior) if root.record.prior is not None else None
    return day if stated is None else min(stated, local_date(root.record.entered, book.zone))


def _events(book: Book, chain: Chain, machine: Machine) -> Iterator[Use]:
    """Runs, proofs of sections and short forms of this chain on this machine."""
    ran_of = members(book, chain)
    for run in book.runs:
        ran = book.revisions.get(run.record.revision or "")
        if ran is not None and same_machine(run.record.machine, machine.id) and among(ran, ran_of):
            yield Use(day=_run_day(book, run.record), stored=run.stored)
    for found in chain.worths[1:]:
        if same_machine(found.proof.record.machine, machine.id):
            yield Use(day=happened_on(found.proof.record, book.zone), stored=found.proof.stored)
    for proof in book.proofs:
        if (
            proof.record.again
            and same_machine(proof.record.machine, machine.id)
            and _renews(book, proof, chain)
        ):
            yield Use(day=happened_on(proof.record, book.zone), stored=proof.stored, again=True)


def _run_day(book: Book, run: RanRecord) -> date:
    entered = local_date(run.entered, book.zone)
    try:
        return min(date.fromisoformat((run.date or "")[:10]), entered)
    except ValueError:
        return happened_on(run, book.zone)


def _counts(book: Book, event: Use, machine: Machine, usable: Usable) -> bool:
    """Whether a run or a proof of sections happened while standing was usable."""
    record = event.stored.record
    if not isinstance(record, RanRecord):
        return True
    ran = book.revisions.get(record.revision or "")
    return ran is not None and usable(ran, machine, event.day)


def _renews(book: Book, again: Entry[ProofRecord], chain: Chain) -> bool:
    """Rule 4."""
    found = worth(book, again)
    root = chain.root
    if chain.changes or not found.counts or found.revision is None or root.revision is None:
        return False
    texts = (found.revision.record, root.revision.record)
    same_text = same_code(*texts) or same_bytes(*texts)
    profiles = (again.record.machine_profile, root.proof.record.machine_profile)
    return same_text and profile(profiles[0]) == profile(profiles[1])


def profile(values: Mapping[str, object]) -> dict[str, object]:
    """A machine's profile without the keys that say nothing of the machine itself."""
    return {key: value for key, value in values.items() if key not in _TRAVEL_KEYS}
