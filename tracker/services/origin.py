"""Where a revision came from, and what changed on the way: the `Origin` entries of a revision record.

A check on top of the comparison: whenever the fingerprints of the two texts differ and no kind of change explains it,
``other`` is added; where the older text cannot be read back, ``other`` is all that is said. Both end every carrying.
"""

from dataclasses import dataclass

from tracker.nc import kinds as k
from tracker.policy.find import by_name
from tracker.records.events import Origin
from tracker.records.job import Job, Operation
from tracker.records.shop import Shop
from tracker.records.stored import Ledger, Stored
from tracker.services.difference import Difference, difference, is_lathe
from tracker.services.operation_text import OperationText, fingerprint_of, post_stamp
from tracker.services.ports import Recorded
from tracker.services.revision_text import RevisionText, revision_record, revision_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Traced:
    """One origin, with the difference it was read from (None when the older text is lost)."""

    origin: Origin
    stored: Stored
    difference: Difference | None = None


def trace(repo: Recorded, ledger: Ledger, shop: Shop, stored: Stored, new: OperationText) -> Traced:
    """How ``new`` differs from the revision ``stored``."""
    old = revision_text(repo, stored)
    sheet = old.sheet
    if sheet is None or old.lost:
        return Traced(origin=Origin(revision=stored.name, kinds=(k.OTHER,), sections=None), stored=stored)
    found = difference(
        old.programs,
        new.programs,
        old_sheet=sheet,
        new_sheet=(new.job, new.operation),
        strict=old.record.strict or new.strict,
        lathe=is_lathe(shop, new.operation),
    )
    kinds = set(found.kinds)
    if post_changed(ledger, shop, old, new.post):
        kinds.add(k.POST)
    if kinds <= k.TEXT_ONLY and _fingerprint_now(old, *sheet, strict=new.strict) != new.fingerprint:
        kinds.add(k.OTHER)
    origin = Origin(
        revision=stored.name,
        kinds=tuple(sorted(kinds)),
        sections=None if kinds & {k.POST, k.OTHER} else found.sections,
        slower=found.slower,
    )
    return Traced(origin=origin, stored=stored, difference=found)


def post_changed(ledger: Ledger, shop: Shop, old: RevisionText, new_post: str | None) -> bool:
    """Whether another post-processor or version is named than by the nearest earlier revision that named one.

    A stamp that is lost, or the first one ever, is looked past.
    """
    if new_post is None:
        return False
    earlier = _nearest_post(ledger, shop, old)
    return earlier is not None and set(earlier.split("; ")) != set(new_post.split("; "))


def _nearest_post(ledger: Ledger, shop: Shop, old: RevisionText) -> str | None:
    """From ``old`` back through where revisions came from, the nearest generation first."""
    said = old.record.post or post_stamp(shop.policy.post_stamp, old.programs)
    if said:
        return said
    job, operation = old.record.job or "", old.record.operation or ""
    waiting, seen = [origin.revision for origin in old.record.origins], {old.stored.name}
    while waiting:
        generation = [by_name(ledger, job, operation, name) for name in waiting if name not in seen]
        seen |= set(waiting)
        records = [revision_record(stored) for stored in generation if stored is not None]
        stamps = sorted({stamp for r in records if r.post for stamp in r.post.split("; ")})
        if stamps:
            return "; ".join(stamps)
        waiting = [origin.revision for record in records for origin in record.origins]
    return None


def _fingerprint_now(old: RevisionText, job: Job, operation: Operation, *, strict: bool) -> str:
    """The older text's fingerprint by today's rules, strict where the new one is."""
    return fingerprint_of(old.programs, job, operation, strict=strict).operation
