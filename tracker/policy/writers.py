"""Who wrote a text: the people who do not stand alone behind it.

The writers of a revision are those who made or entered it, and those of the revisions it came from without a change
of code: renumbering somebody's text does not make it another person's.
"""

from tracker.policy.book import Book, Entry
from tracker.policy.texts import same_code
from tracker.records.events import Record, RevisionRecord


def people_of(record: Record) -> frozenset[str]:
    """Who made a record and who entered it, initials in lower case."""
    return frozenset(name.casefold() for name in (record.by, record.entered_by) if name)


def writers(book: Book, entry: Entry[RevisionRecord]) -> frozenset[str]:
    """Initials, in lower case, of everybody who wrote or checked in this code."""
    found: set[str] = set()
    seen: set[str] = set()
    waiting = [entry]
    while waiting:
        here = waiting.pop()
        seen.add(here.stored.name)
        found |= people_of(here.record)
        for origin in here.record.origins:
            source = book.revisions.get(origin.revision)
            if source and source.stored.name not in seen and same_code(source.record, here.record):
                waiting.append(source)
    return frozenset(found)
