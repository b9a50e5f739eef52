"""What export and collect need from a stick, as interfaces.

Two ports: a `Medium` is the folder programs travel in (reads and writes files); a `Shaper` knows how files must look
there (names, line ends, stamps, the form of the manifest). Paths on a stick are relative to the folder named, with
forward slashes, as text (surrogate escapes where a name is no UTF-8). Nothing outside the folder is ever read or
written: links are named, never followed.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, Protocol

from tracker.digest import sha256_of
from tracker.errors import CouldNot
from tracker.records.shop import Machine

Purpose = Literal["released", "for-proving", "deviation"]
RELEASED: Purpose = "released"
FOR_PROVING: Purpose = "for-proving"
DEVIATION: Purpose = "deviation"
PURPOSES: tuple[Purpose, ...] = (RELEASED, FOR_PROVING, DEVIATION)
PROVING_FOLDER = "FOR-PROVING"
DEVIATION_FOLDER = "DEVIATION"
SUBFOLDERS: Mapping[Purpose, str] = {FOR_PROVING: PROVING_FOLDER, DEVIATION: DEVIATION_FOLDER}
"""Purposes that go into a folder of their own below the machine's."""
UNRELEASED: Mapping[str, str] = {
    FOR_PROVING: "UNPROVEN - FOR PROVE-OUT ONLY",
    DEVIATION: "DEVIATION - NOT RELEASED",
}
"""By its purpose what is said of a text that goes out and is not released: in its stamp, in the list, on every screen."""
NOT_IN_TEXT = "its text cannot carry these words: write them on its setup sheet and hand it over in person"
"""What is said of one in another language, which gets no stamp."""
MANIFEST_NAME = "PROVEOUT.JSON"
READ_ME_NAME = "READ-ME.TXT"


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """Something that lies on the stick.

    ``kind``: ``file``; ``folder``; ``link`` (not followed); ``other`` (a device or pipe); ``closed`` (the system would
    not say, ``why`` tells). ``size`` in bytes of a file, else 0.
    """

    path: str
    kind: str = "file"
    size: int = 0
    why: str | None = None

    @property
    def name(self) -> str:
        """The last part of the path."""
        return self.path.rsplit("/", 1)[-1]

    @property
    def folder(self) -> str:
        """The path of the folder it lies in, ``""`` for the stick itself."""
        return self.path.rpartition("/")[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outgoing:
    """A program that is to go on a stick, and what its stamp says.

    Attributes:
        source: where it lies in the repository, for people's eyes.
        name: its file name there.
        number: its O number, or None.
        raw_sha256: of its bytes there, as they were held against the record.
        fetch: reads what lies there now, when it is wanted: a whole export need not be in memory at once. It is held to
            nothing yet; `read` and `held` do that.
        dialect: ``word-address`` or ``verbatim``.
        strict: by which kind of fingerprint the operation is known.
        fingerprint: as it stands in the revision record: the shaped file must have the same.
        known: whether these bytes were read in this run, and found to have that fingerprint, not a strict one.
        job: job number.
        operation: operation id.
        revision: full name of the revision record (``r0005-7f3a09c2``).
        release: release number, None for a prove-out or a deviation.
        mark: the 8 digits of the stamp: the operation's, or the program's own where several share it.
        shared: several operations of the job call it: the stamp says SUB.
        common: several jobs call it: the stamp names no job.
        users: every operation it goes out for, ``4471/op10``.
    """

    source: str
    name: str
    number: int | None
    raw_sha256: str
    dialect: str
    strict: bool
    fingerprint: str
    job: str
    operation: str
    revision: str
    release: int | None
    mark: str
    fetch: Callable[[], bytes | None] = field(compare=False, repr=False)
    known: bool = False
    shared: bool = False
    common: bool = False
    users: tuple[str, ...] = ()

    def read(self) -> bytes:
        """Its bytes; raises CouldNot (``damaged``) where they are not those of the record."""
        return self.held(self.fetch())

    def held(self, data: bytes | None) -> bytes:
        """What was fetched, if it is what the record says; from any thread. Raises as `read` does."""
        if data is None or sha256_of(data) != self.raw_sha256:
            raise CouldNot(
                "damaged",
                "does not agree with the record of its revision any more; nothing on the stick was changed",
                where=self.source,
                fix="run proveout audit",
            )
        return data


@dataclass(frozen=True, slots=True, kw_only=True)
class Shaped:
    """A program as the machine wants it: file name, bytes, and what a person should know about it.

    ``data``: None once the bytes lie on the stick, under a temporary name or their own; ``size`` how many they are.
    """

    program: Outgoing
    name: str
    data: bytes | None = field(repr=False)
    size: int
    sha256: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """What came of shaping one program; with any problem it may not be written."""

    shaped: Shaped
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Programs shaped for one machine; with any problem nothing may be written. ``stopped``: without these there is none."""

    files: tuple[Shaped, ...] = ()
    problems: tuple[str, ...] = ()
    stopped: tuple[Outgoing, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One program of ours in a manifest; ``file`` is its name in the manifest's folder.

    ``unreleased``: `UNRELEASED` of one that is for its prove-out or a deviation; ``not_in_text``: `NOT_IN_TEXT` where its
    text does not say so itself; ``may_not_run``: why one that an earlier export wrote and that still lies there may not.
    Lists written before these were there hold none of them.
    """

    file: str
    sha256: str
    job: str
    operation: str
    revision: str
    fingerprint: str
    program: str
    release: int | None = None
    unreleased: str | None = None
    not_in_text: str | None = None
    may_not_run: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """The list of what is ours in one folder of a stick, as of one export.

    It is a help to people and never evidence: what counts is the content of the files and the export records of the
    repository. ``until``: from then on a person should ask again before trusting the list.
    """

    stick: str
    machine: str
    purpose: str
    at: datetime
    by: str
    until: datetime
    files: tuple[Listed, ...] = ()
    extra: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class ToWrite:
    """A file to write; ``replaces`` is the SHA-256 of the file that may be there now, None: nothing may be there.

    ``data``: None where `Begun.write` was handed it before; ``written`` says how many bytes it had.
    """

    path: str
    data: bytes | None = field(repr=False)
    sha256: str
    replaces: str | None = None
    written: int = 0

    @property
    def size(self) -> int:
        """How many bytes the file has."""
        return self.written if self.data is None else len(self.data)


def not_made(_: Outgoing) -> Made | None:
    """Nothing was shaped before."""
    return None


class Shaper(Protocol):
    """How files must look on a stick; pure."""

    def shape(
        self,
        machine: Machine,
        programs: Sequence[Outgoing],
        purpose: Purpose,
        made: Callable[[Outgoing], Made | None] = not_made,
    ) -> Layout:
        """Names and bytes for a machine; problems instead of exceptions, all of them at once.

        ``made``: what came of a program that was handed to `shape_one` before, None where it was not.
        """

    def shape_one(self, machine: Machine, program: Outgoing, purpose: Purpose, data: bytes) -> Made:
        """One program, whose bytes are ``data``; may be called from any thread. Raises ValueError as `name` does."""

    def name(self, machine: Machine, *, number: int | None, name: str) -> str:
        """The file name a program gets on the machine; raises ValueError with why it cannot have one."""

    def folded(self, name: str) -> str:
        """What names are compared by: two names that give the same cannot stand in one folder."""

    def write_manifest(self, manifest: Manifest) -> bytes:
        """The bytes of a manifest."""

    def read_manifest(self, data: bytes) -> Manifest:
        """The manifest in these bytes; raises ValueError when they are none of ours."""

    def marks(self, data: bytes) -> tuple[str, ...]:
        """The 8 digits of every stamp in a text, capitals: a hint what it was, never evidence."""

    def leftover(self, name: str) -> bool:
        """Whether a file of this name is what an interrupted export leaves behind."""


class Staged(Protocol):
    """Files written under temporary names, not yet visible as programs."""

    def finish(self) -> None:
        """Give every file its name, the last one last, and compare each with what was meant.

        Raises Refused (``collect-first``) when a file that was to be replaced changed meanwhile, CouldNot
        (``medium-gone``, ``copy-failed``) when the medium fails; what already has its name stays.
        """

    def drop(self) -> None:
        """Take the temporary files away again; never raises."""


class Begun(Staged, Protocol):
    """Files written under temporary names while it is still being worked out which of them go."""

    def write(self, file: ToWrite) -> None:
        """Write one, from any thread; it is synced and read back by `Medium.stage`, or taken away by `drop`.

        Raises CouldNot and Refused as `Medium.stage` does, CouldNot (``copy-failed``) after `drop`.
        """


class Medium(Protocol):
    """A folder on a stick."""

    @property
    def label(self) -> str:
        """The last name of the folder; ``""`` for the root of a drive."""

    def look(self) -> Sequence[Seen]:
        """Everything below, sorted by path, folders too; raises CouldNot (``medium-gone``)."""

    def read(self, path: str) -> bytes:
        """The bytes of a file; raises CouldNot (``medium-gone``, ``unreadable-file``)."""

    def pieces(self, path: str) -> Iterator[bytes]:
        """The bytes of a file piece by piece; raises as `read` does, also where it changed when all is read."""

    def digest(self, path: str) -> str:
        """SHA-256 of a file without holding it whole; raises as `read` does."""

    def remove(self, path: str, sha256: str) -> None:
        """Take a file off, only while it still is what it was; nothing to do where it is gone.

        Raises Refused (``collect-first``), CouldNot (``medium-gone``, ``read-only``).
        """

    def begin(self, files: int, size: int) -> Begun | None:
        """Begin to write before all is known; None where so many files and bytes may not find room.

        Raises CouldNot (``medium-gone``).
        """

    def stage(self, files: Sequence[ToWrite], begun: Begun | None = None) -> Staged:
        """Write files under temporary names, synced and read back.

        ``begun``: holds those whose ``data`` is None; what else was written there is taken away.

        Raises CouldNot (``no-room``, ``medium-gone``, ``read-only``, ``copy-failed``) or Refused (``not-a-folder``,
        ``link-on-stick``) and leaves nothing behind then.
        """
