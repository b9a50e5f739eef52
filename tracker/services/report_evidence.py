"""What a report rests on, so that somebody else can look it up with plain git and sha256sum."""

from collections.abc import Sequence

from tracker.frozen import dataclass
from tracker.policy.find import same_name
from tracker.records.events import ReleaseRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.released import LatestRelease
from tracker.services.report_choice import Against
from tracker.services.revision_text import RevisionText, ShownNames
from tracker.services.standings import MachineStanding


@dataclass(frozen=True, slots=True, kw_only=True)
class FileShown:
    """A file of the repository: what it is, its path, the state it is read from, SHA-256 of its bytes.

    ``fingerprint`` is that of a program's code, None for a record.
    """

    what: str
    path: str
    state: str
    sha256: str
    fingerprint: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """``operation_fingerprint`` of the reported revision; ``programs`` of both revisions; ``records`` relied on.

    ``tag`` is the name of the release tag that holds it, or None.
    """

    operation_fingerprint: str
    sheet_fingerprint: str
    programs: tuple[FileShown, ...]
    records: tuple[FileShown, ...]
    tag: str | None = None


def evidence(
    stored: Stored,
    text: RevisionText,
    chosen: Against | None,
    before: RevisionText | None,
    standings: Sequence[MachineStanding],
    release: LatestRelease | None,
    ledger: Ledger,
) -> Evidence:
    """Programs of both revisions, their records, what the standings rest on, the release that holds it."""
    sides = (
        [(stored, text)] if chosen is None or before is None else [(stored, text), (chosen.stored, before)]
    )
    relied = [record for one in standings for record in one.standing.relied_on]
    records = [side for side, _ in sides] + relied
    held = _held(release, stored, ledger)
    if held is not None:
        records.append(held)
    unique = {one.path: one for one in records}
    shown = ShownNames(ledger)
    return Evidence(
        operation_fingerprint=text.record.operation_fingerprint,
        sheet_fingerprint=text.record.sheet_fingerprint,
        programs=tuple(
            FileShown(
                what=f"program of {shown.of(side)}",
                path=file.path,
                state=side.commit,
                sha256=file.raw_sha256,
                fingerprint=file.fingerprint,
            )
            for side, own in sides
            for file in own.record.files
        ),
        records=tuple(
            FileShown(what=_what(one, shown), path=one.path, state=one.commit, sha256=one.sha256)
            for one in unique.values()
        ),
        tag=f"release/{release.job}/{release.number}" if release is not None and held is not None else None,
    )


def _held(release: LatestRelease | None, stored: Stored, ledger: Ledger) -> Stored | None:
    """The record of the latest release, if it holds the revision."""
    if release is None or all(one.revision.path != stored.path for one in release.operations.values()):
        return None
    return next(
        (
            one
            for one in ledger.records
            if isinstance(one.record, ReleaseRecord)
            and one.record.number == release.number
            and same_name(one.record.job, release.job)
        ),
        None,
    )


def _what(stored: Stored, shown: ShownNames) -> str:
    record = stored.record
    machine = getattr(record, "machine", None)
    name = shown.of(stored)
    of = f" of {name}" if name else ""
    number = getattr(record, "number", None)
    return f"{record.EVENT}{f' {number}' if number else ''}{of}{f' on {machine}' if machine else ''}, {record.by}"
