"""Whether who made a record may make it about that other record: a second person, and a line through something. Pure.

A countersign by the prover, a review by the writer, and a strike of what is not one's own give nothing and take nothing
away (`tracker.policy.standing`, `tracker.policy.strikes`); a push of them is refused all the same, as the verbs refuse them,
so that nobody is left to believe that they count. Who else wrote a text is told by the whole history, and judged there.
"""

from collections.abc import Iterator

from tracker.policy.may import may
from tracker.policy.push import Breach
from tracker.policy.push_records import NewRecord
from tracker.policy.strikes import stops_use
from tracker.policy.writers import people_of
from tracker.records.events import (
    AnyRecord,
    CountersignRecord,
    ReleaseRecord,
    ReviewRecord,
    RevisionRecord,
    StrikeRecord,
)
from tracker.records.shop import Person, Shop


def is_about(record: AnyRecord, folder: str) -> str | None:
    """Path of the record that this one, which lies in ``folder``, is about; None where anybody with the role may."""
    if isinstance(record, StrikeRecord):
        return record.record
    if isinstance(record, CountersignRecord):
        return record.proof
    if isinstance(record, ReviewRecord) and record.revision is not None:
        return f"{folder}/{record.revision}.toml"
    return None


def about_breaches(new: NewRecord, about: AnyRecord, shop: Shop) -> Iterator[Breach]:
    """What stands against a record for who made the one it is about; ``shop``: as it was before the push."""
    record = new.record
    if isinstance(record, StrikeRecord) and isinstance(about, RevisionRecord | ReleaseRecord):
        yield _breach(new, f"strikes a {about.EVENT}, and none is ever struck")
        return
    for name in dict.fromkeys((record.by, record.entered_by or record.by)):
        person = shop.person(name)
        # that somebody is not listed is said already
        why = _against(record, about, shop, person) if person is not None else None
        if why is not None:
            yield _breach(new, f"{why} (by the shop.toml before this push)")


def _against(record: AnyRecord, about: AnyRecord, shop: Shop, person: Person) -> str | None:
    """Why somebody may neither make this record nor enter it for another."""
    made = people_of(about)
    return may(
        shop,
        person,
        record.EVENT,
        record.entered,
        writers=made if isinstance(about, RevisionRecord) else (),
        prover=about.by,
        made_by=made,
        stops_use=stops_use(about),
    )


def _breach(new: NewRecord, words: str) -> Breach:
    return Breach(rule="no-authority", where=new.path, words=words)
