"""``history FILE:LINE``: which revision brought a block in, and who proved it since.

The block is followed by the code, not by the text: renumbering, comments, blanks and whatever moved above it do not hide
where it comes from. A block that was changed and changed back came in with the change back.
"""

from dataclasses import dataclass
from datetime import datetime

from tracker.errors import BadCall
from tracker.nc.compare import compare
from tracker.nc.scan import read
from tracker.policy.book import book_of
from tracker.policy.find import by_name, newest, revisions, same_name
from tracker.policy.proofs import worth
from tracker.records.events import RevisionRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk
from tracker.services.revision_text import before_words, revision_text, shown_name


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvedSince:
    """A proof that counts, of a revision that holds the block; ``tools`` those it is of, empty: of all of it.

    ``paper``: kept on paper, before the record.
    """

    revision: str
    machine: str
    by: str
    at: datetime
    record: str
    tools: tuple[str, ...] = ()
    paper: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CameIn:
    """Where a block comes from, for one operation the program belongs to.

    ``revision`` None: it is not checked in yet. ``was``: the line it stood on in that revision. ``through``: the later
    revisions it went through unchanged, oldest first. ``claimed``: of a text of before the record, whose it claims to be.
    """

    job: str
    operation: str
    revision: str | None
    claimed: str | None = None
    by: str | None = None
    at: datetime | None = None
    reason: str | None = None
    was: int | None = None
    through: tuple[str, ...] = ()
    proofs: tuple[ProvedSince, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockReport:
    """The block that stands on a line of a file, and where it comes from."""

    file: str
    line: int
    block: str
    operations: tuple[CameIn, ...]
    timezone: str


def block_origin(desk: Desk, path: str, line: int) -> BlockReport:
    """Follow the block on a line of a program back to the revision that brought it in.

    Raises BadCall: ``missing-file``, ``no-code-on-line``, ``not-recorded`` (no operation's newest revision has the file).
    """
    data = desk.repo.work_tree().read(path)
    if data is None:
        raise BadCall(
            "missing-file", "there is no such file here", where=path, fix="name a program of the shop"
        )
    ledger = desk.repo.ledger()
    found = _holders(ledger, path)
    if not found:
        raise BadCall(
            "not-recorded",
            "this file belongs to no operation that was checked in",
            where=path,
            fix="proveout checkin records an operation and its programs",
        )
    reading = read(data)
    at = next((block for block, where in enumerate(reading.lines) if where == line), None)
    if at is None:
        raise BadCall(
            "no-code-on-line",
            "no block stands on this line",
            where=f"{path}:{line}",
            fix="name a line that holds code",
        )
    block = reading.code.split(b"\n")[at].decode("latin-1")
    origins = tuple(_followed(desk, ledger, stored, path, data, line) for stored in found)
    return BlockReport(file=path, line=line, block=block, operations=origins, timezone=ledger.shop.timezone)


def _holders(ledger: Ledger, path: str) -> list[Stored]:
    """The newest revisions that have the file."""
    named = dict.fromkeys(
        (stored.record.job or "", stored.record.operation or "")
        for stored in ledger.records
        if isinstance(stored.record, RevisionRecord)
    )
    heads = [one for job, operation in named for one in newest(ledger, job, operation)]
    return [
        one
        for one in heads
        if isinstance(one.record, RevisionRecord) and any(file.path == path for file in one.record.files)
    ]


def _followed(desk: Desk, ledger: Ledger, stored: Stored, path: str, data: bytes, line: int) -> CameIn:
    record = _revision(stored)
    strict = record.strict
    lines = read(data, strict=strict).lines
    at = next(block for block, where in enumerate(lines) if where == line)
    job, operation = record.job or "", record.operation or ""
    here = _bytes(desk, stored, path)
    block = None if here is None else _before(here, data, at, strict=strict)
    if here is None or block is None:
        return CameIn(job=job, operation=operation, revision=None)
    way = [stored]
    while True:
        step = _step(desk, ledger, way, path, here, block, strict=strict)
        if step is None:
            break
        before, path, here, block = step
        way.append(before)
    first = _revision(way[-1])
    return CameIn(
        job=job,
        operation=operation,
        revision=shown_name(way[-1], ledger),
        claimed=before_words(first.before) if first.before is not None else None,
        by=first.by,
        at=first.at,
        reason=first.reason,
        was=read(here, strict=strict).lines[block],
        through=tuple(shown_name(one, ledger) for one in reversed(way[:-1])),
        proofs=_proofs(desk, ledger, way),
    )


def _came_from(ledger: Ledger, way: list[Stored]) -> list[Stored]:
    """What the last revision of the way came from: as its record names it, else where the texts of before the record end."""
    stored, record = way[-1], _revision(way[-1])
    job, operation = record.job or "", record.operation or ""
    if not record.origins and record.before is None:
        old = [one for one in revisions(ledger, job, operation) if one.before is not None]
        named = {origin.revision for one in old for origin in _revision(one).origins}
        return [one for one in old if one.name not in named]
    found = (by_name(ledger, job, operation, origin.revision) for origin in record.origins)
    # a record that names a later one leads nowhere; texts of before the record came in at once
    return [
        one
        for one in found
        if one is not None and one not in way and (one.order < stored.order or one.before is not None)
    ]


def _step(
    desk: Desk, ledger: Ledger, way: list[Stored], path: str, data: bytes, block: int, *, strict: bool
) -> tuple[Stored, str, bytes, int] | None:
    """The revision before in which the block stood already, its file there, its bytes and the block's place in it."""
    record = _revision(way[-1])
    is_main = bool(record.files) and record.files[0].path == path
    for before in _came_from(ledger, way):
        files = _revision(before).files
        there = files[0].path if is_main and files else path
        old = _bytes(desk, before, there)
        at = None if old is None else _before(old, data, block, strict=strict)
        if old is not None and at is not None:
            return before, there, old, at
    return None


def _before(old: bytes, new: bytes, block: int, *, strict: bool) -> int | None:
    """The place of a block of ``new`` in ``old``, or None where it stands in a stretch that differs."""
    shift = 0
    for one in compare(old, new, strict=strict).stretches:
        if one.new_from <= block < one.new_to:
            return None
        if one.new_to <= block:
            shift += (one.new_to - one.new_from) - (one.old_to - one.old_from)
    return block - shift


def _bytes(desk: Desk, stored: Stored, path: str) -> bytes | None:
    """The program as the revision has it, None where it does not or where it cannot be read back."""
    return next((one.data for one in revision_text(desk.repo, stored).programs if one.path == path), None)


def _revision(stored: Stored) -> RevisionRecord:
    from tracker.services.revision_text import revision_record

    return revision_record(stored)


def _proofs(desk: Desk, ledger: Ledger, way: list[Stored]) -> tuple[ProvedSince, ...]:
    names = {one.name: one for one in way}
    first = _revision(way[-1])
    book = book_of(ledger, first.job, desk.clock.now())
    return tuple(
        ProvedSince(
            revision=shown_name(names[proof.revision or ""], ledger),
            machine=proof.machine,
            by=proof.by,
            at=proof.at,
            record=entry.stored.path,
            tools=proof.tools,
            paper=proof.prior is not None,
        )
        for entry in book.proofs
        for proof in (entry.record,)
        if proof.revision in names
        and same_name(proof.operation, first.operation)
        and worth(book, entry).counts
    )
