"""The tables inside a revision's record: its programs, where it came from, what was found, what it does not cover."""

from tracker.frozen import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class FileOf:
    """A program that belongs to a revision: where, what it is called, and what it says."""

    path: str
    name: str
    number: int | None = None
    raw_sha256: str
    fingerprint: str
    dialect: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """How a revision differs from one it came from.

    ``kinds`` raw (feed and speed, never slower); ``sections`` changed tools, or ``None`` for all;
    ``slower`` lowest new/old of the changed F and S, or None.
    """

    revision: str
    kinds: tuple[str, ...] = ()
    sections: tuple[str, ...] | None = ()
    slower: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What a check found, as kept in a record.

    ``machine``: found for this one of several machines only; ``waived_by`` initials of who lets it stand.
    """

    rule: str
    severity: str
    message: str
    file: str | None = None
    line: int | None = None
    tool: str | None = None
    remedy: str | None = None
    machine: str | None = None
    waived_by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """A call the record does not cover: resident in a control, or by variable."""

    file: str
    line: int
    text: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """The old commit a text of before the record lies in, and who it claims wrote it: shown so, never as initials."""

    NOBODY = "nobody named"

    commit: str
    author: str
    email: str | None = None
