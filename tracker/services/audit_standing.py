"""What the lists of an audit say about standings: the newest revisions, on the machines of their setup sheets, today."""

from collections.abc import Iterator
from datetime import date, timedelta

from tracker.errors import BadCall
from tracker.policy.book import Book, Entry
from tracker.policy.find import newest
from tracker.policy.standing import Judge
from tracker.policy.states import CARRIED, LAPSED, Standing
from tracker.policy.writers import writers
from tracker.records.events import RevisionRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk

_SOON = timedelta(days=60)


def carried(desk: Desk, ledger: Ledger, judge: Judge) -> Iterator[tuple[Stored, str, Standing]]:
    """Every newest revision that stands by a carried proof: revision, machine, standing."""
    for stored, machine, standing in _standings(desk, ledger, judge):
        if standing.state == CARRIED:
            yield stored, machine, standing


def lapsing(desk: Desk, ledger: Ledger, judge: Judge) -> Iterator[tuple[Stored, str, Standing, date | None]]:
    """Every newest revision that has lapsed or will within 60 days, with the day; the first to lapse first."""
    found = [
        (stored, machine, standing, standing.lapses)
        for stored, machine, standing in _standings(desk, ledger, judge)
        if standing.state == LAPSED or (standing.lapses is not None and standing.lapses <= judge.day + _SOON)
    ]
    yield from sorted(found, key=lambda one: (one[3] or date.min, one[0].path, one[1]))


def written_by(book: Book, revision: Stored) -> frozenset[str]:
    """Initials, in lower case, of everybody who wrote the code of a revision."""
    record = revision.record
    if not isinstance(record, RevisionRecord):
        return frozenset()
    return writers(book, Entry(stored=revision, record=record))


def waived(record: RevisionRecord) -> Iterator[tuple[str, str, str, str]]:
    """The waivers of a revision: rule, tool or line, who, why."""
    for said in record.waivers:
        where = f"T{said['tool']}" if "tool" in said else str(said.get("line", "-"))
        yield str(said.get("rule")), where, str(said.get("by")), str(said.get("reason"))


def _standings(desk: Desk, ledger: Ledger, judge: Judge) -> Iterator[tuple[Stored, str, Standing]]:
    tree = desk.repo.tree()
    for path in sorted(tree.job_paths().values()):
        try:
            job = tree.job(path)
        except BadCall:
            continue  # audit itself tells it as wrong-file
        book = judge.book(job.number)
        for operation in job.operations:
            for revision in newest(book.ledger, job.number, operation.id):
                for name in operation.machines:
                    machine = ledger.shop.machine(name)
                    if machine is not None:
                        yield revision, machine.id, judge.standing(revision, machine)
