"""How things are written in a reason or a command: ``4471/op10@r5``, ``4488`` where that is plain, ``2 pieces``."""

from tracker.policy.book import Book, Entry
from tracker.policy.days import happened_on, words
from tracker.policy.find import heads, label, number_of, same_name, short_name
from tracker.records.events import Record, RevisionRecord
from tracker.records.shop import Machine


def revision_words(book: Book, name: str | None) -> str:
    """``r5``; ``r5-7f3a09c2`` where two revisions of the operation have the number."""
    return book.once(("revision", name or ""), lambda: _revision_words(book, name))


def _revision_words(book: Book, name: str | None) -> str:
    entry = book.revisions.get(name or "")
    if entry is None:
        return label(name)
    same = [
        other
        for other in _siblings(book, entry)
        if number_of(other.stored.name) == number_of(entry.stored.name)
    ]
    return label(name) if len(same) == 1 else short_name(entry.stored.name)


def operation_words(book: Book, record: Record) -> str:
    """``4471/op10``, what a record is about; the job alone where it has one operation."""
    ids = {(entry.record.operation or "").casefold() for entry in book.revisions.values()}
    job = record.job or "JOB"
    return job if len(ids) <= 1 or record.operation is None else f"{job}/{record.operation}"


def target_words(book: Book, entry: Entry[RevisionRecord]) -> str:
    """What to type for a revision: without its number where it is the one newest."""
    return book.once(("spelled", entry.stored.name), lambda: _spell(book, entry))


def prove_command(book: Book, entry: Entry[RevisionRecord], machine: Machine, more: str = "") -> str:
    """``proveout prove 4471/op10 --machine MILL2``: what to type to prove a revision."""
    return f"proveout prove {target_words(book, entry)}{more} --machine {machine.id}"


def _spell(book: Book, entry: Entry[RevisionRecord]) -> str:
    spelled = operation_words(book, entry.record)
    in_hand = tuple(other.stored for other in _siblings(book, entry) if other.stored.in_hand)
    newest = heads(in_hand)
    if len(newest) == 1 and newest[0].name == entry.stored.name:
        return spelled
    return f"{spelled}@{revision_words(book, entry.stored.name)}"


def by_words(book: Book, record: Record) -> str:
    """``ss 4 Feb 2026``: who, and the day it is said to have happened on."""
    return f"{record.by} {words(happened_on(record, book.zone))}"


def counted(number: int, one: str, many: str | None = None) -> str:
    """``1 machine``, ``2 machines``, ``1,500 records``; ``many`` where it is not ``one`` with an s."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def joined(parts: list[str], word: str = "and") -> str:
    """``T4``, ``T4 and T5``, ``T4, T5 and T6``."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} {word} {parts[-1]}" if parts else ""


def _siblings(book: Book, entry: Entry[RevisionRecord]) -> list[Entry[RevisionRecord]]:
    return [
        other
        for other in book.revisions.values()
        if same_name(other.record.operation, entry.record.operation)
    ]
