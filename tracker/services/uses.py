"""``where --program`` and ``where --tool``: which operations call a program, and with which text of it they were proven; which use a tool.

Both are asked of the newest revisions: of their records for programs, of the job.toml they were checked in with for tools.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from tracker.errors import BadCall
from tracker.policy.find import by_name, label, newest_of, same_name
from tracker.policy.proofs import worth
from tracker.policy.standing import Judge
from tracker.records.events import FileOf, ProofRecord, RevisionRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk
from tracker.services.revision_text import ShownNames, revision_text


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvenWith:
    """A machine with the last full proof of an operation that counts, and the text of the program it was proven with.

    ``fingerprint`` None where that revision did not hold the program; ``same`` whether its code is that of the newest; ``paper``
    whether the proof was kept on paper, before the record.
    """

    machine: str
    revision: str
    at: datetime
    by: str
    fingerprint: str | None
    same: bool
    paper: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgramUse:
    """An operation whose newest revision holds the program; ``main`` whether it is its own main program."""

    job: str
    operation: str
    revision: str
    path: str
    fingerprint: str
    main: bool
    proven: tuple[ProvenWith, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolUse:
    """A tool of a setup sheet."""

    job: str
    operation: str
    revision: str
    machines: tuple[str, ...]
    tool: int
    description: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UsesReport:
    """What was asked, in words, and who uses it. ``texts``: how many codes of a program the newest revisions hold."""

    asked: str
    programs: tuple[ProgramUse, ...] = ()
    tools: tuple[ToolUse, ...] = ()
    timezone: str = "UTC"
    gaps: tuple[str, ...] = ()

    @property
    def texts(self) -> int:
        """How many different codes of the program the newest revisions hold."""
        return len({one.fingerprint for one in self.programs})


def program_uses(desk: Desk, said: str) -> UsesReport:
    """Who calls a program: ``O8001``, ``8001``, a file's name, or its path.

    Raises BadCall (``unknown-program``), and what reading the repository raises.
    """
    ledger = desk.repo.ledger()
    found = tuple(_programs(ledger, said, desk.clock.now()))
    if not found:
        raise BadCall(
            "unknown-program",
            f"no operation's newest revision holds a program {said!r}",
            fix="name its O number (O8001), its file, or its path in the repository",
        )
    return UsesReport(
        asked=f"program {said}", programs=found, timezone=ledger.shop.timezone, gaps=tuple(_unread(ledger))
    )


def tool_uses(desk: Desk, said: str) -> UsesReport:
    """Which setup sheets name a tool with these words in its description; blanks and case do not count.

    Raises BadCall (``tool-not-on-sheets``), and what reading the repository raises.
    """
    ledger = desk.repo.ledger()
    wanted = _plain(said)
    found: list[ToolUse] = []
    shown = ShownNames(ledger)
    gaps = list(_unread(ledger))
    for stored in _in_order(ledger):
        text = revision_text(desk.repo, stored)
        if text.operation is None:
            gaps.append(f"the setup sheet of {_place(stored)} cannot be read back")
            continue
        found += [
            ToolUse(
                job=stored.record.job or "",
                operation=stored.record.operation or "",
                revision=shown(stored.record.job, stored.record.operation, stored.name),
                machines=text.operation.machines,
                tool=tool.number,
                description=tool.description or "",
            )
            for tool in text.operation.tools
            if wanted and wanted in _plain(tool.description or "")
        ]
    if not found:
        raise BadCall(
            "tool-not-on-sheets",
            f"no setup sheet of a newest revision names a tool {said!r}",
            fix="name a part of its description, as the sheets spell it",
        )
    return UsesReport(
        asked=f"tool {said}", tools=tuple(found), timezone=ledger.shop.timezone, gaps=tuple(gaps)
    )


def _in_order(ledger: Ledger) -> list[Stored]:
    return sorted(
        newest_of(ledger), key=lambda one: (one.record.job or "", one.record.operation or "", one.name)
    )


def _programs(ledger: Ledger, said: str, now: datetime) -> Iterator[ProgramUse]:
    judge, shown = Judge(ledger, now), ShownNames(ledger)
    for stored in _in_order(ledger):
        record = stored.record
        if not isinstance(record, RevisionRecord):
            continue
        for at, file in enumerate(record.files):
            if not _is(file, said):
                continue
            yield ProgramUse(
                job=record.job or "",
                operation=record.operation or "",
                revision=shown(record.job, record.operation, stored.name),
                path=file.path,
                fingerprint=file.fingerprint,
                main=at == 0,
                proven=tuple(
                    _proven(ledger, proof, file, said, shown) for proof in _last_proofs(judge, record)
                ),
            )


def _last_proofs(judge: Judge, record: RevisionRecord) -> Iterable[ProofRecord]:
    """The last full proof of an operation that counts, by machine; one that waits for somebody counts not yet."""
    book = judge.book(record.job)
    found: dict[str, ProofRecord] = {}
    for entry in book.proofs:
        proof = entry.record
        if same_name(proof.operation, record.operation) and not proof.tools and worth(book, entry).counts:
            found[proof.machine.casefold()] = proof
    return found.values()


def _proven(ledger: Ledger, proof: ProofRecord, now: FileOf, said: str, shown: ShownNames) -> ProvenWith:
    revision = by_name(ledger, proof.job or "", proof.operation or "", proof.revision)
    files = revision.record.files if revision and isinstance(revision.record, RevisionRecord) else ()
    then = next((file for file in files if file.path == now.path), None) or next(
        (file for file in files if _is(file, said)), None
    )
    return ProvenWith(
        machine=proof.machine,
        revision=shown(proof.job, proof.operation, proof.revision or ""),
        at=proof.at,
        by=proof.by,
        fingerprint=then.fingerprint if then else None,
        same=then is not None and then.fingerprint == now.fingerprint,
        paper=proof.prior is not None,
    )


def _is(file: FileOf, said: str) -> bool:
    digits = said[1:] if said[:1] in ("O", "o") else said
    if digits.isdecimal() and file.number is not None and int(digits) == file.number:
        return True
    return same_name(file.name, said) or file.path == said.replace("\\", "/")


def _plain(text: str) -> str:
    return "".join(text.upper().split())


def _place(stored: Stored) -> str:
    return f"{stored.record.job}/{stored.record.operation} {label(stored.name)}"


def _unread(ledger: Ledger) -> Iterator[str]:
    for bad in ledger.unreadable:
        yield f"not readable, and may have held more: {bad.path}: {bad.why}"
