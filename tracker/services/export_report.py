"""What an export has to say: programs, operations with their standing, what was left out, what must come off."""

from dataclasses import dataclass
from datetime import datetime

from tracker.services.call_in import CallIn
from tracker.services.ports_stick import Purpose
from tracker.services.usable import LeftOut


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportedFile:
    """A program on the stick. ``path`` from the stick's folder; ``action`` written, replaced or unchanged."""

    path: str
    program: str
    action: str
    sha256: str
    job: str
    operation: str
    revision: str
    release: int | None
    mark: str
    users: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportedOperation:
    """An operation that went out, with its standing on the machine in words."""

    job: str
    operation: str
    revision: str
    release: int | None
    display_id: str
    state: str
    reason: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LeavesStick:
    """A file of ours that is taken off the stick, and why."""

    path: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportReport:
    """What went out, what did not and why, what must come off; with ``dry_run`` nothing was written.

    ``leaves``: what of ours is taken off; ``unknown`` (of a mirror): files in the folder nobody recorded, kept.
    """

    machine: str
    stick: str
    folder: str
    purpose: Purpose
    operations: tuple[ExportedOperation, ...]
    files: tuple[ExportedFile, ...]
    left_out: tuple[LeftOut, ...] = ()
    call_in: tuple[CallIn, ...] = ()
    notes: tuple[str, ...] = ()
    at: datetime
    until: datetime
    dry_run: bool = False
    record: str | None = None
    zone: str = "UTC"
    wanted: tuple[str, ...] = ()
    mirror: bool = False
    leaves: tuple[LeavesStick, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def refused_jobs(self) -> tuple[str, ...]:
        """Jobs that were named and of which nothing went out."""
        went = {operation.job.casefold() for operation in self.operations}
        return tuple(job for job in self.wanted if job.casefold() not in went)
