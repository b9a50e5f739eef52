"""What a collect has to say: one verdict for every file, and what became of it."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tracker.services.known import Known

if TYPE_CHECKING:
    from tracker.nc.compare import Change
    from tracker.services.checkin import CheckInReport
    from tracker.services.effect import Effect

AS_EXPORTED = "as-exported"
SAME_CODE = "same-code"
CHANGED_CODE = "changed-code"
STALE = "stale"
WITHDRAWN = "withdrawn"
FOR_PROVING = "for-proving"
OTHER_MACHINE = "other-machine"
UNKNOWN = "unknown"
INCOMPLETE = "incomplete"
MISSING = "missing"
DAMAGED = "damaged"
FORGED_MANIFEST = "forged-manifest"
VERDICTS = (
    AS_EXPORTED,
    SAME_CODE,
    CHANGED_CODE,
    STALE,
    WITHDRAWN,
    FOR_PROVING,
    OTHER_MACHINE,
    UNKNOWN,
    INCOMPLETE,
    MISSING,
    DAMAGED,
    FORGED_MANIFEST,
)
FINE = frozenset({AS_EXPORTED, SAME_CODE})
"""What needs nobody's decision."""
SHEET = "sheet"
"""It went out with another setup sheet than the one that is released now."""
PLACE = "place"
"""It lies where another program was exported to."""
CALLED = "called"
"""It may run for one operation that calls it, and another that went out with it is released with another text of it."""
SHARE = "share"
"""Not known here, and its stamp names what may be in the record of another PC."""
SETTINGS = "settings"
"""Not known, and no program: offsets or variables of a control."""
EDITED = "edited"
"""For another machine, and edited: nothing of it is taken in where it lies."""
WRITING = "writing"
"""The same code in its place, in a writing no record has: an export does not write over it."""
OLD_WRITING = "old-writing"
"""The same, of a text that was changed since: it is not taken in either."""
ID = "id"
"""The code of one text with the id line of another, which is what is read back at the machine."""
BOTH = "both"
"""An edit of a text that was changed too since it went out, by the office or by an edit taken in before."""
UNSHARED = "unshared"
"""Taken in over a text of this record, and its stamp names one that may be in the record of another PC."""
TIDIED = "tidied"
"""Taken in, written the office's way: its own bytes are in no record, and an export does not write over it."""
SHORTER = "shorter"
"""Not whole, or cut down at the control: its end is there, and much of its code is not."""
GRAVITY = (
    WITHDRAWN,
    FORGED_MANIFEST,
    CHANGED_CODE,
    DAMAGED,
    INCOMPLETE,
    OTHER_MACHINE,
    STALE,
    FOR_PROVING,
    MISSING,
    UNKNOWN,
    SAME_CODE,
    AS_EXPORTED,
)
"""The verdicts, what a person has to look at first coming first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FileVerdict:
    """What one file on a stick is.

    Attributes:
        file: path from the stick's folder, as it can be shown.
        verdict: one of `VERDICTS`.
        job: job number, operation id and revision (``r5``) it is, or was before somebody changed it; None if unknown.
        operation: see ``job``.
        revision: see ``job``.
        kinds: how it differs from what was exported, sorted.
        message: in words.
        changes: the differences one by one.
        sha256: of the file; of a missing one as it was written; None where it could not be read.
        code: fingerprint of its own code; None where that was not read, or is in another language.
        known: the text of the record it is, or was.
        release: the release it went out with.
        stopped: it is what it should be, and may not run any more: held, lapsed, ... since.
        aside: why a person has to look at it though it is what it should be: `SHEET`, `PLACE`, `CALLED`, `WRITING`,
            `OLD_WRITING`, `ID`; of a file that is not known `SHARE` or `SETTINGS`, of one that was changed `SHARE`, of one for
            another machine `EDITED`, of one that is ``incomplete`` `SHORTER`,
            of an edit `BOTH`, of one that was taken in `UNSHARED` or `TIDIED`; or nothing.
        path: as the medium knows it, None for a missing file.
        machine: whose folder it lies in, None for none.
        hint: what a comment in the text claims, None where none does. It proves nothing.
        effect: what it does and did, of changed code where that was asked for.
        parts: the programs of a file that holds several, each with its own verdict; ``file`` is then ``DUMP#O1001``.
        span: of such a part, the bytes of the file it is.
        unreleased: UNPROVEN or DEVIATION with the rest of these words, where it went out as that and never released, or
            is an edit of such a text; None for the rest.
    """

    file: str
    verdict: str
    message: str
    job: str | None = None
    operation: str | None = None
    revision: str | None = None
    kinds: tuple[str, ...] = ()
    changes: "tuple[Change, ...]" = ()
    sha256: str | None = None
    code: str | None = None
    known: Known | None = None
    release: int | None = None
    stopped: bool = False
    aside: str = ""
    path: str | None = None
    machine: str | None = None
    hint: str | None = None
    effect: "Effect | None" = None
    parts: tuple["FileVerdict", ...] = ()
    span: tuple[int, int] | None = None
    unreleased: str | None = None

    @property
    def programs(self) -> tuple["FileVerdict", ...]:
        """The programs of a file that holds several, else the file itself."""
        return self.parts or (self,)

    @property
    def fine(self) -> bool:
        """Whether it is what was exported, or the same code."""
        return self.verdict in FINE

    @property
    def edited(self) -> bool:
        """Whether a person may say it is an edit of ``known``: its code was changed, or it is much shorter (`SHORTER`)."""
        return self.verdict == CHANGED_CODE or self.aside == SHORTER

    @property
    def open(self) -> bool:
        """Whether a person has to decide something about it."""
        return not self.fine or self.stopped or bool(self.aside) or any(part.open for part in self.parts)

    @property
    def same_code(self) -> bool:
        """Whether its code is that of ``known``; an edit of another machine's text has the verdict of that text, and not its code."""
        other = self.verdict in (CHANGED_CODE, INCOMPLETE, DAMAGED) or self.aside == EDITED
        return self.known is not None and not other


@dataclass(frozen=True, slots=True, kw_only=True)
class CollectReport:
    """All of it; ``record`` None where nothing was recorded, ``not_recorded`` then says why.

    ``settled``: the ``file`` of everything that was taken in, and the name of the revision it became; nobody has to decide
    about it any more, unless it is `TIDIED` or `UNSHARED`. ``asks``: what else is to be done, in sentences without a full stop;
    ``lists``: SHA-256 of the lists there that an export wrote; ``folder``: the machine's folder that alone was looked at.
    """

    stick: str
    files: tuple[FileVerdict, ...]
    notes: tuple[str, ...] = ()
    record: str | None = None
    not_recorded: str | None = None
    taken_in: "CheckInReport | None" = None
    settled: Mapping[str, str] = field(default_factory=dict)
    asks: tuple[str, ...] = ()
    zone: str = "UTC"
    lists: tuple[str, ...] = ()
    folder: str | None = None

    @property
    def programs(self) -> tuple[FileVerdict, ...]:
        """Every file, or its programs where it holds several."""
        return tuple(program for one in self.files for program in one.programs)

    @property
    def counts(self) -> dict[str, int]:
        """How many files have each verdict, the gravest first; programs of one file counted one by one."""
        found = Counter(one.verdict for one in self.programs)
        return {verdict: found[verdict] for verdict in GRAVITY if found[verdict]}

    @property
    def undecided(self) -> tuple[FileVerdict, ...]:
        """What a person has to decide about: programs of one file one by one, what was taken in left out."""
        return tuple(
            one
            for one in self.programs
            if one.open and (one.file not in self.settled or one.aside in (TIDIED, UNSHARED))
        )
