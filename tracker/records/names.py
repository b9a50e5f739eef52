"""Where the file of a record lies and what it is called.

``jobs/4471/records/op10/r0003-7f3a09c2.toml`` for a revision: the digits open the SHA-256 of the file's own bytes, so
two clones' r3 never clash. Every other event of a revision: ``<revision>-<event>[-<machine>]-<UTC stamp>-<initials>``;
without a revision ``<UTC stamp>-<event>[-<machine>]-<initials>``. What belongs to no job lies in ``records``.
"""

from collections.abc import Container
from datetime import datetime, timedelta

from tracker.clock import file_stamp
from tracker.digest import sha256_of
from tracker.patterns import lazy_pattern

RECORDS = "records"
_REVISION = lazy_pattern(r"r(\d{4,})(?:-([0-9a-f]{8}))?")


def records_folder(job_folder: str | None, operation: str | None = None) -> str:
    """The folder of an operation's records, of a job's, or (without a job) of the shop's."""
    parts = [job_folder.rstrip("/")] if job_folder else []
    return "/".join([*parts, RECORDS, *([operation] if operation else [])])


def revision_file(job_folder: str, operation: str, number: int, data: bytes) -> str:
    """Path of revision record ``number`` whose file holds ``data``."""
    return f"{records_folder(job_folder, operation)}/{revision_name(number)}-{sha256_of(data)[:8]}.toml"


def revision_name(number: int) -> str:
    """``r0003``: what a revision record says of itself."""
    return f"r{number:04}"


def revision_number(name: str) -> int | None:
    """The number in ``r0003`` or ``r0003-7f3a09c2``; None when ``name`` names no revision."""
    found = _REVISION.fullmatch(name)
    return int(found[1]) if found else None


def release_file(job_folder: str, number: int) -> str:
    """Path of the record of release ``number`` of a job."""
    return f"{records_folder(job_folder)}/release-{number:04}.toml"


def event_file(
    job_folder: str | None,
    operation: str | None,
    revision: str | None,
    event: str,
    machine: str | None,
    at: datetime,
    initials: str,
    *,
    taken: Container[str] = (),
) -> str:
    """Path of any other record.

    ``taken``: paths that exist. A record is never written over another: while the name is taken (two events of one
    person in one second) the stamp in the name moves on by a second; what the record says of itself does not change.
    """
    folder = records_folder(job_folder, operation)
    while True:
        stamp = file_stamp(at)
        parts = [revision, event, machine, stamp, initials] if revision else [stamp, event, machine, initials]
        path = f"{folder}/{'-'.join(part for part in parts if part)}.toml"
        if path not in taken:
            return path
        at += timedelta(seconds=1)
