"""The records: what happened, said once, never changed.

Every record opens with the fields of `Record`; each event adds its own. Their form in the file is fixed: records
outlive this code. Times are aware UTC datetimes here and strings ending in Z in the file; a value that was not
computed is None here and left out there. Unknown keys of a newer version are kept in ``extra``.

References to other records are their paths in the repository, with forward slashes.
"""

from collections.abc import Mapping
from datetime import datetime

from tracker.frozen import dataclass, field
from tracker.records.parts import Before as Before
from tracker.records.parts import FileOf as FileOf
from tracker.records.parts import Finding as Finding
from tracker.records.parts import Origin as Origin
from tracker.records.parts import Outside as Outside

FORMAT = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """What every record says first. ``revision`` is the revision record's name without ``.toml``.

    ``copy``: 2 for the second of records that say the same in one second, so that no two files have the same bytes.
    """

    EVENT = ""

    format: int = FORMAT
    job: str | None = None
    operation: str | None = None
    revision: str | None = None
    at: datetime
    entered: datetime
    by: str
    entered_by: str | None = None
    reason: str | None = None
    clock: str | None = None
    copy: int | None = None
    extra: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionRecord(Record):
    """One checked-in content of an operation; its own ``revision`` is ``r0003`` (the digits open its own hash).

    ``before``: the text is older than the record. ``at`` and ``reason`` are what its commit claims, ``by`` took it over,
    ``files`` lie where they lay then, the sheet states nothing. It is never the newest one and gives no standing.
    """

    EVENT = "revision"

    operation_fingerprint: str
    strict: bool = False
    rule_version: int
    checks_version: int | None = None
    sheet_fingerprint: str
    files: tuple[FileOf, ...] = ()
    origins: tuple[Origin, ...] = ()
    findings: tuple[Finding, ...] = ()
    waivers: tuple[Mapping[str, object], ...] = ()
    post: str | None = None
    outside: tuple[Outside, ...] = ()
    before: Before | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of the prove-out as answered; ``value`` the figure it has, ``reason`` why it was not done."""

    step: str
    done: bool
    reason: str | None = None
    value: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstPiece:
    """The first piece: ``result`` is accepted, rejected or waiting."""

    report: str | None = None
    by: str | None = None
    result: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofRecord(Record):
    """A named person proved a revision on a machine. ``result`` accepted, rejected or unfinished.

    ``tools`` empty means a full proof; ``again`` the short form after a lapse; ``limits`` what the proof is limited
    to; ``files`` hold the hashes of what was run.
    """

    EVENT = "proof"

    machine: str
    operation_fingerprint: str
    rule_version: int
    files: tuple[FileOf, ...] = ()
    machine_profile: Mapping[str, object] = field(default_factory=dict)
    result: str
    cause: str | None = None
    steps: tuple[Step, ...] = ()
    first_piece: FirstPiece | None = None
    tools: tuple[str, ...] = ()
    limits: str | None = None
    prior: Mapping[str, object] | None = None
    again: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredRecord(Record):
    """The measuring result of a first piece that was waited for; ``result`` accepted or rejected."""

    EVENT = "measured"

    proof: str
    report: str
    result: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CountersignRecord(Record):
    """A second person stands behind a proof."""

    EVENT = "countersign"

    proof: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewRecord(Record):
    """Desk review: ``from_revision`` (``from`` in the file) to ``revision``, over these raw ``kinds``."""

    EVENT = "review"

    from_revision: str
    kinds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldRecord(Record):
    """Stop use. ``scope``: revision (that fingerprint), operation (every revision, later ones too) or machine.

    ``cause`` of a machine's hold: crash, repair, control-update or moved.
    """

    EVENT = "hold"

    scope: str
    machine: str | None = None
    operation_fingerprint: str | None = None
    cause: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftRecord(Record):
    """End of a hold or of a withdrawal; ``check`` what was checked on the machine."""

    EVENT = "lift"

    hold: str | None = None
    withdrawal: str | None = None
    machine: str | None = None
    check: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """A record relied on, by path and SHA-256 of its bytes."""

    path: str
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleasedOperation:
    """One operation in a release; ``relied_on`` the proofs, reviews and others that let it stand on ``machines``.

    ``not_proven`` names machines, or alternatives by operation id, that did not stand.
    """

    operation: str
    revision: str
    operation_fingerprint: str
    machines: tuple[str, ...] = ()
    relied_on: tuple[Reference, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseRecord(Record):
    """A release of a job; ``not_included`` alternatives that did not stand, with the reason."""

    EVENT = "release"

    number: int
    operations: tuple[ReleasedOperation, ...] = ()
    not_included: tuple[Mapping[str, object], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WithdrawRecord(Record):
    """Recall of a release: ``operations`` with the revision and fingerprint each had in it."""

    EVENT = "withdraw"

    number: int
    operations: tuple[ReleasedOperation, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RanRecord(Record):
    """A run of a revision on a machine; ``date`` is the day, ``first_piece`` as measured if one was asked."""

    EVENT = "ran"

    machine: str
    operation_fingerprint: str
    lot: str | None = None
    quantity: int | None = None
    serials: tuple[str, ...] = ()
    date: str | None = None
    first_piece: FirstPiece | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OnStick:
    """A file as it was written to, or found on, a stick. ``path`` from the stick's folder, forward slashes.

    ``fingerprint``: of the code that lies there, also of an edit of ``revision``. ``taken_as``: the revision that came of it,
    where it was an edit that was taken in; ``revision`` is what it was before.
    """

    path: str
    sha256: str
    job: str | None = None
    operation: str | None = None
    revision: str | None = None
    fingerprint: str | None = None
    program: str | None = None
    release: int | None = None
    verdict: str | None = None
    taken_as: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportRecord(Record):
    """Programs written for a machine to a stick.

    ``purpose``: released, for-proving or deviation; ``manifest`` its SHA-256; ``removed`` what of ours was taken off;
    ``owner`` whose the medium was by shop.toml; ``papers`` what lies beside the programs: the read-me, setup sheets;
    ``found`` what else of ours was seen there and stays, that no record had on this stick: it was copied there by hand;
    ``missing`` what the records had in the machine's folder and is not there: it was taken off by hand;
    ``lists`` SHA-256 of the lists of ours that lay in the machine's folders before: two sticks may have one name.
    """

    EVENT = "export"

    machine: str
    stick: str
    purpose: str
    manifest: str
    files: tuple[OnStick, ...] = ()
    removed: tuple[OnStick, ...] = ()
    owner: str | None = None
    papers: tuple[OnStick, ...] = ()
    found: tuple[OnStick, ...] = ()
    missing: tuple[OnStick, ...] = ()
    lists: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CollectRecord(Record):
    """What came home on a stick, each file with its verdict; ``lists`` as of an export.

    ``folder``: the machine's folder that was looked at by itself, and nothing beside it; paths of ``files`` are short then.
    """

    EVENT = "collect"

    machine: str | None = None
    stick: str
    files: tuple[OnStick, ...] = ()
    lists: tuple[str, ...] = ()
    folder: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviationRecord(Record):
    """A text that goes to a machine in an emergency without standing there, for ``hours`` from when it is entered.

    ``reason`` says why, ``lot`` for which parts; a countersign names this record's path as its ``proof``.
    """

    EVENT = "deviation"

    machine: str
    hours: int
    lot: str | None = None
    operation_fingerprint: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StrikeRecord(Record):
    """One line through a record: it stays legible and no longer counts."""

    EVENT = "strike"

    record: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopRecord(Record):
    """A change of people, machines or policy in shop.toml; ``changed`` the tables it touched.

    ``shop_sha256``: of the shop.toml it leaves, so that a signature of the record covers the text.
    """

    EVENT = "shop"

    changed: tuple[str, ...] = ()
    shop_sha256: str | None = None


AnyRecord = (
    RevisionRecord
    | ProofRecord
    | MeasuredRecord
    | CountersignRecord
    | ReviewRecord
    | HoldRecord
    | LiftRecord
    | ReleaseRecord
    | WithdrawRecord
    | RanRecord
    | ExportRecord
    | CollectRecord
    | DeviationRecord
    | StrikeRecord
    | ShopRecord
)
EVENTS: Mapping[str, type[AnyRecord]] = {
    cls.EVENT: cls
    for cls in (
        RevisionRecord,
        ProofRecord,
        MeasuredRecord,
        CountersignRecord,
        ReviewRecord,
        HoldRecord,
        LiftRecord,
        ReleaseRecord,
        WithdrawRecord,
        RanRecord,
        ExportRecord,
        CollectRecord,
        DeviationRecord,
        StrikeRecord,
        ShopRecord,
    )
}
