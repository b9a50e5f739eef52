"""One step of a carry chain: from a revision to the next, and what covers the difference.

A step is covered by itself when

1. its kinds are all ``carry`` kinds, or
2. all ``carry`` or ``review`` kinds, with a desk review of exactly that pair over all its kinds, by somebody who then
   was programmer or quality and wrote neither the text nor the code it continues, or
3. all ``carry``, ``review`` or ``reprove`` kinds, with counting proofs of all its changed sections on this machine or
   in its group, where the text was not turned down since on the machine the section was proved on.

Feed and speed are read as ``slower`` while the product of the lowest ratios since the last full proof is at least
1 - slower_percent/100. Across two versions of the same-code rules only equal bytes are a step. A record that says
"no change of code" between two different fingerprints is not believed.
"""

from collections.abc import Iterable

from tracker.frozen import dataclass
from tracker.policy.book import Book, Entry
from tracker.policy.proofs import Owed, Worth, worth
from tracker.policy.shops import hands_had_role
from tracker.policy.spelled import by_words, joined, revision_words, target_words
from tracker.policy.stops import valid_on
from tracker.policy.texts import same_bytes, same_code
from tracker.policy.writers import people_of, writers
from tracker.records.events import Origin, ReviewRecord, RevisionRecord
from tracker.records.shop import CARRY, Machine, Policy

_TOLERANCE = 1e-9
ALL = "all"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A covered step.

    Attributes:
        source: name of the revision it starts from.
        target: name of the revision it leads to.
        changes: whether the fingerprint changed.
        tools: changed tools, ``("all",)`` when they could not be told.
        ratio: lowest new/old of the changed feeds and speeds, 1 when none was slowed.
        how: what covers it, in words; empty when it carries by itself.
        review: the desk review relied on, or None.
        proofs: proofs of sections relied on.
    """

    source: str
    target: str
    changes: bool
    tools: tuple[str, ...] = ()
    ratio: float = 1.0
    how: str = ""
    review: Entry[ReviewRecord] | None = None
    proofs: tuple[Worth, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pair:
    """The step being judged."""

    book: Book
    source: Entry[RevisionRecord]
    target: Entry[RevisionRecord]
    origin: Origin
    machine: Machine
    product: float | None

    @property
    def words(self) -> str:
        """``r4 to r5``."""
        names = (self.source.stored.name, self.target.stored.name)
        return " to ".join(revision_words(self.book, name) for name in names)

    @property
    def changes(self) -> bool:
        """Whether the code or the sheet differs, as far as fingerprints say."""
        if self.source.record.rule_version != self.target.record.rule_version:
            return not same_bytes(self.source.record, self.target.record)
        return not same_code(self.source.record, self.target.record)


def cover(
    book: Book,
    source: Entry[RevisionRecord],
    target: Entry[RevisionRecord],
    machine: Machine,
    product: float | None,
) -> Step | Owed:
    """Judge the step from ``source`` to ``target``, which names it as an origin.

    Args:
        book: what counts on the day.
        source: where it starts.
        target: where it leads.
        machine: the machine it has to hold on.
        product: product of the ratios since the last full proof up to ``source``; None when ``source`` does not rest
            on one, and nothing can be read as slower.
    """
    origin = next(o for o in target.record.origins if o.revision == source.stored.name)
    pair = _Pair(book=book, source=source, target=target, origin=origin, machine=machine, product=product)
    doubt = _doubt(pair)
    if doubt is not None:
        return doubt
    kinds = read_kinds(origin, book.policy, product)
    if kinds <= set(book.policy.carry):
        return _step(pair)
    lighter = {*book.policy.carry, *book.policy.review}
    review = _review_of(pair) if kinds <= lighter else None
    if review is not None:
        how = f"{_kinds_words(kinds, origin)}: desk review {by_words(book, review.record)}"
        return _step(pair, how=how, review=review)
    proofs = _sections_proved(pair) if kinds <= {*lighter, *book.policy.reprove} else ()
    if proofs:
        again = joined([", ".join((by_words(book, p.proof.record), *p.remarks)) for p in proofs])
        return _step(pair, how=f"{tools_words(origin.sections or ())} proved again {again}", proofs=proofs)
    return _owed(pair, kinds)


def read_kinds(origin: Origin, policy: Policy, product: float | None) -> set[str]:
    """The kinds of a step, feed and speed read as ``slower`` where policy lets it."""
    kinds = set(origin.kinds)
    ratio = origin.slower
    if not kinds & {"feed", "speed"} or ratio is None or product is None or not 0 < ratio <= 1:
        return kinds
    if ratio * product < 1 - policy.slower_percent / 100 - _TOLERANCE:
        return kinds
    return kinds - {"feed", "speed"} | {"slower"}


def tool_key(name: str) -> str:
    """``4`` of ``T4``, ``04`` and ``4``."""
    return name.strip().upper().removeprefix("T").lstrip("0") or "0"


def tools_words(tools: Iterable[str]) -> str:
    """``T4, T5``."""
    return ", ".join("all tools" if tool == ALL else f"T{tool_key(tool)}" for tool in tools)


def _doubt(pair: _Pair) -> Owed | None:
    """Why the step cannot be judged at all."""
    a, b = pair.source.record, pair.target.record
    if a.rule_version != b.rule_version and pair.changes:
        said = (
            f"the rules of same code changed from {pair.words} ({a.rule_version} to {b.rule_version}): "
            "their fingerprints cannot be compared"
        )
        return Owed.proof(said, pair.book, pair.target, pair.machine)
    if pair.changes and set(pair.origin.kinds) <= {*CARRY, "post"}:
        said = f"{pair.words} differ in code, and the record does not say how"
        return Owed.proof(said, pair.book, pair.target, pair.machine)
    return None


def _step(
    pair: _Pair,
    *,
    how: str = "",
    review: Entry[ReviewRecord] | None = None,
    proofs: tuple[Worth, ...] = (),
) -> Step:
    sections = pair.origin.sections
    ratio = pair.origin.slower if pair.origin.slower is not None else 1.0
    return Step(
        source=pair.source.stored.name,
        target=pair.target.stored.name,
        changes=pair.changes,
        tools=(ALL,) if sections is None else tuple(tool_key(tool) for tool in sections),
        ratio=min(ratio, 1.0) if ratio > 0 else 1.0,
        how=how,
        review=review,
        proofs=proofs,
    )


def _review_of(pair: _Pair) -> Entry[ReviewRecord] | None:
    """A desk review of exactly this pair that counts."""
    book = pair.book
    wrote = writers(book, pair.target)
    for entry in book.reviews:
        record = entry.record
        pairs = (record.from_revision, record.revision) == (pair.source.stored.name, pair.target.stored.name)
        if (
            pairs
            and set(pair.origin.kinds) <= set(record.kinds)
            and not people_of(record) & wrote
            and hands_had_role(book.ledger, entry.stored, "programmer", "quality")
        ):
            return entry
    return None


def _sections_proved(pair: _Pair) -> tuple[Worth, ...]:
    """Counting proofs on this machine that together cover the changed sections, or nothing."""
    wanted = {tool_key(tool) for tool in pair.origin.sections or ()}
    used = _proofs_of(pair, wanted)
    covered = {tool for found in used for tool in _tools_of(found)}
    return used if wanted and wanted <= covered else ()


def _proofs_of(pair: _Pair, wanted: set[str]) -> tuple[Worth, ...]:
    """Counting proofs on this machine of some of these sections."""
    return tuple(
        found
        for found in (worth(pair.book, proof) for proof in pair.book.proofs if proof.record.tools)
        if found.revision is not None
        and same_code(found.revision.record, pair.target.record)
        and wanted & _tools_of(found)
        and valid_on(pair.book, found, pair.machine) is not None
    )


def _tools_of(found: Worth) -> set[str]:
    return {tool_key(tool) for tool in found.proof.record.tools}


def _owed(pair: _Pair, kinds: set[str]) -> Owed:
    """What the step still needs: the lightest of review, sections, or a full proof."""
    policy = pair.book.policy
    said = f"{pair.words} changed {_kinds_words(kinds, pair.origin)}"
    lighter = {*policy.carry, *policy.review}
    if kinds <= lighter:
        return Owed(
            words=f"{said}: a desk review is owed",
            clears=f'proveout review {target_words(pair.book, pair.target)} --by INITIALS -m "why"',
        )
    if kinds <= {*lighter, *policy.reprove} and pair.origin.sections:
        wanted = [tool_key(tool) for tool in pair.origin.sections]
        done = {tool for found in _proofs_of(pair, set(wanted)) for tool in _tools_of(found)}
        left = [tool for tool in wanted if tool not in done]
        which = (
            "these tools are"
            if left == wanted
            else f"{tools_words(left)} {'is' if len(left) == 1 else 'are'} still"
        )
        said = f"{said}: {which} to be proved again"
        return Owed.proof(said, pair.book, pair.target, pair.machine, ",".join(left))
    return Owed.proof(f"{said}: a full proof is owed", pair.book, pair.target, pair.machine)


def _kinds_words(kinds: set[str], origin: Origin) -> str:
    """``slower (T4)``; numbering, wording and format are left out beside a kind that matters."""
    told = sorted(kinds - set(CARRY)) or sorted(kinds)
    where = " (all tools)" if origin.sections is None else ""
    if origin.sections:
        where = f" ({tools_words(origin.sections)})"
    return ", ".join(told) + where
