"""One old file looked through: what it is, which numbers it holds and calls, what its head says."""

from tracker.errors import ProveoutError
from tracker.frozen import dataclass
from tracker.nc.calls import header_comments
from tracker.nc.head_words import HeadWords, head_words
from tracker.nc.proof_words import proof_words
from tracker.services.call_lookup import may_be_program
from tracker.services.drafting import units_of
from tracker.services.ports_adopt import OldFile, OldFolder
from tracker.services.program_facts import FactsKept, facts_of

MOST = 256 * 1024 * 1024
"""Bytes of a file up to which it is looked through."""
_HEAD = 4096
PROGRAM, FOREIGN, UNREADABLE, EMPTY = "program", "foreign", "unreadable", "empty"


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """What one file is.

    Attributes:
        folder: place of its folder in the list of folders, 0 the first.
        file: where it lies.
        what: `PROGRAM`, `FOREIGN`, `UNREADABLE` or `EMPTY`.
        why: why it is none, in words.
        numbers: its O numbers, else the one its name says.
        held: the O numbers that stand in it.
        calls: numbers it may call.
        fingerprint, sha256: of its code, of its bytes.
        names_lines: it may go to line numbers of another program, which are code there then.
        dialect: ``word-address`` or ``verbatim``.
        units: what its codes say, None for neither or both.
        head: the words of its head.
        hint: the comment that says it is proved, a hint and no more.
    """

    folder: int
    file: OldFile
    what: str
    why: str = ""
    numbers: tuple[int, ...] = ()
    held: tuple[int, ...] = ()
    calls: tuple[int, ...] = ()
    fingerprint: str = ""
    sha256: str = ""
    names_lines: bool = False
    dialect: str = ""
    units: str | None = None
    head: HeadWords = HeadWords()
    hint: str | None = None


def look_at(place: int, folder: OldFolder, file: OldFile, *, strict: bool = False) -> Looked:
    """Look one file through; what cannot be read is said, never raised.

    ``strict``: every line number counts as code, since another program may go to one.
    """
    if not may_be_program(file.path):
        return Looked(folder=place, file=file, what=FOREIGN, why="no program, going by its name")
    if file.size > MOST:
        return Looked(folder=place, file=file, what=UNREADABLE, why=f"longer than {MOST >> 20} MB")
    try:
        data = folder.read(file.path)
    except ProveoutError as fault:
        return Looked(folder=place, file=file, what=UNREADABLE, why=fault.what)
    return _looked(place, file, data, strict=strict)


def _looked(place: int, file: OldFile, data: bytes, *, strict: bool) -> Looked:
    from tracker.services.call_lookup import numbers_in

    kept: FactsKept = {}
    facts = facts_of(data, kept)
    who = facts.identity(data, strict=strict or facts.names_lines)
    text = who.dialect != "verbatim"
    if text and not who.blocks:
        why = "empty" if not data else "no code in it"
        return Looked(folder=place, file=file, what=EMPTY, why=why, sha256=facts.raw_sha256)
    if not text and b"\0" in data[:_HEAD]:
        return Looked(folder=place, file=file, what=FOREIGN, why="no text", sha256=facts.raw_sha256)
    comments = header_comments(data) if text else ()
    return Looked(
        folder=place,
        file=file,
        what=PROGRAM,
        numbers=tuple(dict.fromkeys(numbers_in(file.path, facts.numbers))),
        held=facts.numbers,
        calls=tuple(dict.fromkeys(number for call in facts.calls for number, _ in call.readings)),
        fingerprint=who.fingerprint,
        sha256=facts.raw_sha256,
        names_lines=facts.names_lines,
        dialect=who.dialect,
        units=units_of(data) if text else None,
        head=head_words(comments),
        hint=next((one.text for one in proof_words(comments)), None),
    )
