"""Carry chains: from a full proof, step by covered step, to the revision asked about.

Rules:

1. A chain starts at a counting full proof that is valid on the machine: made there, or counting by its group while
   it was not turned down on its own machine.
2. A proof binds to the fingerprint: a revision with that code starts a chain too, one step of numbering, wording and
   format away, if policy lets all three carry, no other post-processor wrote it, and no step between them is recorded
   as more than words.
3. It goes on through every origin a revision names. Where there are several (two clones brought together), the step
   from *each* of them has to be covered, each has to be in hand, and at least one has to stand: a merged text is
   explained by all it came from, or not at all.
4. Never through a rejected or withdrawn revision.
5. At most ``max_carries`` steps change the fingerprint.
6. A proof kept on paper gives way to a real one that reaches the same text, whichever was entered first: one made on the
   machine asked about, or by the group where the paper is of another machine too. It makes nothing younger.
"""

from collections.abc import Mapping, Sequence
from math import prod

from tracker.frozen import dataclass, replace
from tracker.policy.book import Book, Entry
from tracker.policy.groups import OWN, counts_on
from tracker.policy.proofs import Owed, Worth, is_full, worth
from tracker.policy.spelled import revision_words, target_words
from tracker.policy.states import REJECTED, WITHDRAWN
from tracker.policy.steps import ALL, Step, cover
from tracker.policy.stops import is_rejected, valid_on, withdrawals
from tracker.policy.texts import effective_post, proofs_of_text, raised, raw_files, same_bytes, same_code
from tracker.records.events import Origin, RevisionRecord
from tracker.records.shop import CARRY, Machine
from tracker.records.stored import Stored

_KEPT = 8
"""Chains kept of one revision; each has another proof at its root."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """A way from a full proof to a revision. ``place`` is `OWN` or `GROUP`; no steps: proved itself."""

    root: Worth
    place: str
    steps: tuple[Step, ...] = ()

    @property
    def changes(self) -> int:
        """Steps that changed the fingerprint."""
        return sum(step.changes for step in self.steps)

    @property
    def product(self) -> float:
        """Product of the lowest ratios since the full proof."""
        return prod(step.ratio for step in self.steps)

    @property
    def tools(self) -> tuple[str, ...]:
        """Changed tools, to be treated as a first run."""
        names = dict.fromkeys(tool for step in self.steps for tool in step.tools)
        return (ALL,) if ALL in names else tuple(sorted(names, key=lambda name: (len(name), name)))

    @property
    def worths(self) -> tuple[Worth, ...]:
        """All proofs it rests on."""
        return (self.root, *(proof for step in self.steps for proof in step.proofs))

    @property
    def records(self) -> tuple[Stored, ...]:
        """All records it rests on."""
        reviews = [step.review.stored for step in self.steps if step.review is not None]
        return (*(stored for found in self.worths for stored in found.records), *reviews)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """How a revision is reached: its chains, best first, and what is owed where there is none.

    ``rooted``: a full proof lies behind it, on the machine or counting there, also one that waits for somebody: without any
    there is nothing to carry, whatever a step from there would ask. ``hoped``: where there is no chain, the product of the
    ratios there would be if what is owed were given: it says what a later step asks for, and lets nothing stand.
    """

    chains: tuple[Chain, ...] = ()
    owes: tuple[Owed, ...] = ()
    rooted: bool = False
    hoped: float | None = None

    @property
    def product(self) -> float | None:
        """The best product of ratios of the chains; None where there is none."""
        return max((chain.product for chain in self.chains), default=None)


def members(book: Book, chain: Chain) -> list[Entry[RevisionRecord]]:
    """The revisions of a chain, the proved one first."""
    names = [chain.root.proof.record.revision or ""]
    names += [name for step in chain.steps for name in (step.source, step.target)]
    return [book.revisions[name] for name in dict.fromkeys(names) if name in book.revisions]


def among(entry: Entry[RevisionRecord], texts: Sequence[Entry[RevisionRecord]]) -> bool:
    """Whether a revision is one of these texts, or has the code of one."""
    return any(
        same_code(entry.record, text.record) or same_bytes(entry.record, text.record) for text in texts
    )


def reach(book: Book, target: Entry[RevisionRecord], machine: Machine) -> Reach:
    """All chains to a revision on a machine."""
    known: dict[str, Reach] = {}
    valid = book.once(("valid", machine.id), lambda: _valid_proofs(book, machine))
    for entry in _oldest_first(book, target):
        if entry.stored.path in book.unsigned:
            known[entry.stored.name] = Reach(owes=(_unsigned(book, entry),))
            continue
        roots = _roots(book, entry, valid)
        through = _through(book, entry, machine, known)
        chains = _best([*roots, *through.chains])
        rooted = bool(chains) or through.rooted or _waiting(book, entry, machine)
        known[entry.stored.name] = (
            Reach(chains=chains, rooted=rooted) if chains else replace(through, rooted=rooted)
        )
    return known[target.stored.name]


def _unsigned(book: Book, entry: Entry[RevisionRecord]) -> Owed:
    """Nothing stands on a text whose record nobody signed, where records must be signed."""
    words = (
        f"the record of {revision_words(book, entry.stored.name)} {book.unsigned[entry.stored.path].words}"
    )
    return Owed(
        words=f"{words}, and the shop asks for signatures",
        clears=f'proveout checkin {target_words(book, entry)} -m "signed", by somebody with a key',
    )


def _oldest_first(book: Book, target: Entry[RevisionRecord]) -> list[Entry[RevisionRecord]]:
    """The revision and everything in hand it came from, every one after those it came from."""
    order: list[Entry[RevisionRecord]] = []
    state: dict[str, bool] = {}
    stack = [target]
    while stack:
        here = stack[-1]
        name = here.stored.name
        if name not in state:
            state[name] = False
            stack += [s for s in _sources(book, here) if s.stored.name not in state]
            continue
        stack.pop()
        if not state[name]:
            state[name] = True
            order.append(here)
    return order


def _sources(book: Book, entry: Entry[RevisionRecord]) -> list[Entry[RevisionRecord]]:
    found = (book.revisions.get(origin.revision) for origin in entry.record.origins)
    return [source for source in found if source is not None and source.stored.in_hand]


def _valid_proofs(book: Book, machine: Machine) -> dict[str, tuple[Worth, str]]:
    """The full proofs that count and are valid on the machine, by path, each with where it was made (rule 1)."""
    found: dict[str, tuple[Worth, str]] = {}
    for proof in book.proofs:
        if is_full(proof.record):
            weighed = worth(book, proof)
            place = valid_on(book, weighed, machine)
            if place is not None:
                found[proof.stored.path] = weighed, place
    return found


def _roots(book: Book, entry: Entry[RevisionRecord], valid: Mapping[str, tuple[Worth, str]]) -> list[Chain]:
    """Chains that start at this very revision (rule 2)."""
    of_text = (valid.get(proof.stored.path) for proof in proofs_of_text(book, entry))
    bound = ((*one, _bound(book, one[0], entry)) for one in of_text if one is not None)
    return [Chain(root=found, place=place, steps=steps) for found, place, steps in bound if steps is not None]


def _waiting(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> bool:
    """Whether a full proof of this text was accepted that would count on the machine once nothing is owed."""
    return any(
        proof.record.result == "accepted"
        and is_full(proof.record)
        and counts_on(book, proof, machine) is not None
        for proof in proofs_of_text(book, entry)
    )


def _bound(book: Book, found: Worth, entry: Entry[RevisionRecord]) -> tuple[Step, ...] | None:
    """No steps where the proof is of this text, one where it is of the same code, None where of another."""
    proved = found.revision
    if proved is None:
        return None
    if proved.stored.name == entry.stored.name or same_bytes(proved.record, entry.record):
        return ()
    if not same_code(proved.record, entry.record):
        return None
    if raw_files(found.proof.record.files) == raw_files(entry.record.files):
        return ()
    posts = {effective_post(book, proved), effective_post(book, entry)} - {None}
    if not set(CARRY) <= set(book.policy.carry) or len(posts) > 1:
        return None
    if raised(book, proved) != raised(book, entry):
        return None
    return (Step(source=proved.stored.name, target=entry.stored.name, changes=False),)


def _through(book: Book, entry: Entry[RevisionRecord], machine: Machine, known: dict[str, Reach]) -> Reach:
    """Chains that lead here through what this revision came from (rules 3 to 5)."""
    origins = entry.record.origins
    if not origins:
        return Reach()
    barred = _barred(book, entry, machine, origins)
    if barred:
        return Reach(owes=(barred,))
    hoped = _hoped(origins, known)
    steps = {
        origin: cover(book, book.revisions[origin.revision], entry, machine, known[origin.revision].product)
        for origin in origins
    }
    if not any(isinstance(step, Owed) for step in steps.values()):
        return replace(_extend(book, entry, machine, known), hoped=hoped)
    before = [owed for origin in origins for owed in known[origin.revision].owes]
    told = [_told(book, entry, machine, known, origin, step) for origin, step in steps.items()]
    owes = [step for step in told if isinstance(step, Owed)]
    rooted = any(known[origin.revision].rooted for origin in origins)
    every = dict.fromkeys([*before, *(owes if rooted else ())])
    return Reach(owes=tuple(every), rooted=rooted, hoped=hoped)


def _told(
    book: Book,
    entry: Entry[RevisionRecord],
    machine: Machine,
    known: Mapping[str, Reach],
    origin: Origin,
    step: Step | Owed,
) -> Step | Owed:
    """What a step asks for once what comes before it is given; where that is all that is owed, the step itself."""
    before = known[origin.revision]
    if not isinstance(step, Owed) or before.chains or before.hoped is None or not before.owes:
        return step
    return cover(book, book.revisions[origin.revision], entry, machine, before.hoped)


def _hoped(origins: Sequence[Origin], known: Mapping[str, Reach]) -> float | None:
    """The least product of ratios if what is owed up to each origin were given; None where one rests on nothing."""
    found: list[float] = []
    for origin in origins:
        before = known[origin.revision]
        product = before.product if before.chains else before.hoped
        if product is None:
            return None
        ratio = origin.slower if origin.slower is not None and 0 < origin.slower < 1 else 1.0
        found.append(product * ratio)
    return min(found)


def _extend(book: Book, entry: Entry[RevisionRecord], machine: Machine, known: dict[str, Reach]) -> Reach:
    chains: list[Chain] = []
    owes: list[Owed] = []
    for origin in entry.record.origins:
        before = known[origin.revision]
        owes += before.owes
        for chain in before.chains:
            step = cover(book, book.revisions[origin.revision], entry, machine, chain.product)
            if isinstance(step, Owed):
                owes.append(step)
            elif chain.changes + step.changes > book.policy.max_carries:
                owes.append(_too_many(book, entry, machine))
            else:
                chains.append(replace(chain, steps=(*chain.steps, step)))
    rooted = any(known[origin.revision].rooted for origin in entry.record.origins)
    return Reach(chains=tuple(chains), owes=tuple(dict.fromkeys(owes)), rooted=rooted)


def _barred(
    book: Book, entry: Entry[RevisionRecord], machine: Machine, origins: Sequence[Origin]
) -> Owed | None:
    """Why nothing may be carried into this revision at all."""
    for origin in origins:
        source = book.revisions.get(origin.revision)
        away = source is None or not source.stored.in_hand
        gone = None if source is None or away else _gone(book, source, machine)
        if not away and gone is None:
            continue
        name = revision_words(book, origin.revision)
        words = f"it came from {name}, which is {gone}: nothing is carried over"
        if away:
            words = f"{name}, which it came from, is not in the record here"
        return Owed.proof(words, book, entry, machine)
    return None


def _gone(book: Book, source: Entry[RevisionRecord], machine: Machine) -> str | None:
    """``withdrawn`` or ``rejected`` where one of them keeps a revision from being carried through."""
    if any(withdrawals(book, source)):
        return WITHDRAWN
    return REJECTED if is_rejected(book, source, machine) else None


def _too_many(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> Owed:
    words = f"more than {book.policy.max_carries} changes of code since the last full proof"
    return Owed.proof(words, book, entry, machine)


def _best(chains: list[Chain]) -> tuple[Chain, ...]:
    """One chain a root, the shortest, and of those the best few."""
    by_root: dict[str, Chain] = {}
    for chain in sorted(_real_first(chains), key=_rank):
        by_root.setdefault(chain.root.proof.stored.path, chain)
    return tuple(by_root.values())[:_KEPT]


def _real_first(chains: list[Chain]) -> list[Chain]:
    """Rule 6."""
    real = {chain.place for chain in chains if not _on_paper(chain)}
    return [chain for chain in chains if not _on_paper(chain) or not real & {OWN, chain.place}]


def _on_paper(chain: Chain) -> bool:
    return chain.root.proof.record.prior is not None


def _rank(chain: Chain) -> tuple[bool, bool, int, float, int, int]:
    stored = chain.root.proof.stored
    return (
        bool(chain.steps),
        chain.place != OWN,
        chain.changes,
        -chain.product,
        len(chain.steps),
        -stored.order,
    )
