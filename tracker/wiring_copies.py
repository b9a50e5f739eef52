"""Where real git is put behind what keeps copies of a record: backups and the witness."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tracker.services.audit import audit
from tracker.services.audit_report import AuditReport
from tracker.services.desk import Desk
from tracker.services.progress import Tell, quiet
from tracker.services.witness import WitnessReport, witness
from tracker.store.bundles import BundleFolder, unpacked
from tracker.store.evidence import CloneEvidence
from tracker.store.open_clone import open_clone
from tracker.store.witness_folder import WitnessFolder, begin, open_witness, undo
from tracker.wiring import open_clock


def open_vault(folder: str, to: Path) -> tuple[Desk, BundleFolder]:
    """The desk in this folder, and the place its backups go to; raises as `open_desk` does."""
    clone = open_clone(folder)
    return Desk(repo=clone, clock=open_clock()), BundleFolder(clone, to)


@contextmanager
def open_restored(file: Path) -> Iterator[tuple[Desk, CloneEvidence]]:
    """A backup restored for a try into a temporary folder; raises as `unpacked` does."""
    with unpacked(file) as clone:
        yield Desk(repo=clone, clock=open_clock()), CloneEvidence(clone)


def open_watch(folder: Path, source: str | None) -> WitnessFolder:
    """The witness in a folder, its copy begun where there is none; raises as `open_witness` does."""
    return open_witness(folder, source)


def look_once(watch: WitnessFolder, tell: Tell = quiet) -> WitnessReport:
    """One look of a witness at its source; one that never saw anything leaves nothing behind when it fails."""
    made = begin(watch)

    def audited() -> AuditReport:
        watch.point_head()
        watch.forget()
        clone = open_clone(watch.record)
        try:
            return audit(Desk(repo=clone, clock=clock), CloneEvidence(clone), tell)
        finally:
            clone.close()

    clock = open_clock()
    try:
        return witness(watch, watch, audited, source=watch.source, now=clock.now())
    except BaseException:
        if made and not watch.lines():
            undo(watch)
        raise
