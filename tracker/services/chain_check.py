"""Whether what revision records say of themselves and of the way to them is what their texts bear out.

A standing is judged by records alone. Before a release is made, and when one is pushed, the texts behind a carry chain
are read back and compared again: every fingerprint must be that of its text, and no step may be said to be lighter than
it is (kinds left out, sections left out, slowed by less). A record may be stricter than the comparison, never looser.
Texts recorded by other rules of same code cannot be compared in this way; their bytes are still held to their hashes.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from tracker.errors import BadCall
from tracker.nc.identity import RULE_VERSION
from tracker.policy.find import by_name, short_name
from tracker.policy.release_rules import Reason
from tracker.policy.shops import shop_at
from tracker.records.events import Origin, RevisionRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.operation_text import fingerprint_of, operation_text
from tracker.services.origin import trace
from tracker.services.ports import Recorded
from tracker.services.revision_text import RevisionText, revision_text

_TOLERANCE = 1e-9
_AUDIT = "proveout audit"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Link:
    """A revision of a chain with its text."""

    stored: Stored
    record: RevisionRecord
    text: RevisionText

    @property
    def comparable(self) -> bool:
        """Recorded by the rules in hand, with everything there."""
        return self.record.rule_version == RULE_VERSION and not self.text.lost and self.text.sheet is not None


def chain_reasons(repo: Recorded, ledger: Ledger, names: Sequence[str], like: Stored) -> Iterator[Reason]:
    """What does not hold about the revisions of a chain.

    Args:
        repo: the clone.
        ledger: that holds them.
        names: full names of the revisions, the proved one first.
        like: any revision of the operation.
    """
    links = [link for name in names if (link := _link(repo, ledger, like, name)) is not None]
    for link in links:
        yield from _own(link)
    for target in links[1:]:
        for origin in target.record.origins:
            source = _link(repo, ledger, like, origin.revision)
            if source is not None:
                yield from _step(repo, ledger, source, target, origin)


def _link(repo: Recorded, ledger: Ledger, like: Stored, name: str) -> _Link | None:
    stored = by_name(ledger, like.record.job or "", like.record.operation or "", name)
    if stored is None:
        # a proof binds to the code, which another operation of the job may share
        stored = next((one for one in ledger.records if one.name == name), None)
    if stored is None or not isinstance(stored.record, RevisionRecord):
        return None
    return _Link(stored=stored, record=stored.record, text=revision_text(repo, stored))


def _own(link: _Link) -> Iterator[Reason]:
    """The text is there and has the fingerprint its record says."""
    name = short_name(link.stored.name)
    if link.text.lost:
        yield Reason(
            words=f"the text of {name} cannot be read back: {', '.join(link.text.lost)}", clears=_AUDIT
        )
    if not link.comparable or link.text.sheet is None:
        return
    job, operation = link.text.sheet
    prints = fingerprint_of(link.text.programs, job, operation, strict=link.record.strict)
    if (prints.operation, prints.sheet) != (link.record.operation_fingerprint, link.record.sheet_fingerprint):
        yield Reason(words=f"the fingerprint recorded in {name} is not that of its text", clears=_AUDIT)


def _step(repo: Recorded, ledger: Ledger, source: _Link, target: _Link, said: Origin) -> Iterator[Reason]:
    """The step is no heavier than its record says."""
    if not (source.comparable and target.comparable):
        return
    found = _traced(repo, ledger, source, target)
    words = f"{short_name(source.stored.name)} to {short_name(target.stored.name)}"
    if found is None:
        yield Reason(words=f"{words}: the texts cannot be compared again", clears=_AUDIT)
        return
    for what in _lighter(said, found):
        yield Reason(words=f"{words}: the record leaves out {what}", clears=_AUDIT)


def _traced(repo: Recorded, ledger: Ledger, source: _Link, target: _Link) -> Origin | None:
    if target.text.sheet is None:
        return None
    job, operation = target.text.sheet
    shop = shop_at(ledger, target.stored)
    tree = repo.tree(target.stored.commit)
    try:
        text = operation_text(tree, target.text.job_path, job, operation, shop)
    except BadCall:
        return None
    return trace(repo, ledger, shop, source.stored, text).origin


def _lighter(said: Origin, found: Origin) -> Iterable[str]:
    """In what a record is looser than the comparison."""
    missing = sorted(set(found.kinds) - set(said.kinds))
    if missing:
        yield ", ".join(missing)
    if said.sections is not None and (found.sections is None or set(found.sections) - set(said.sections)):
        every = "all tools" if found.sections is None else ", ".join(f"T{tool}" for tool in found.sections)
        yield f"changed sections ({every})"
    if said.slower is not None and (found.slower is None or said.slower > found.slower + _TOLERANCE):
        yield "how much it was slowed"
