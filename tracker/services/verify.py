"""``verify``: the programs of an operation, or of all of a job, against setup sheet and machine, as they lie here."""

from tracker.errors import BadCall
from tracker.frozen import dataclass
from tracker.services.call_lookup import ProgramIndex
from tracker.services.desk import Desk
from tracker.services.fits_shop import must_fit
from tracker.services.locate import find_job, find_operation
from tracker.services.machine_named import machine_named
from tracker.services.naming import Named
from tracker.services.on_record import beside_in_hand
from tracker.services.operation_text import operation_text
from tracker.services.progress import Tell, quiet, told
from tracker.services.verifying import Verified, verified


@dataclass(frozen=True, slots=True, kw_only=True)
class VerifyReport:
    """What the checks say, an operation each."""

    operations: tuple[Verified, ...]

    @property
    def stops(self) -> bool:
        """Whether a finding stands in the way of a release."""
        return any(finding.stops for one in self.operations for finding in one.findings)


def verify(desk: Desk, named: Named, machine: str | None = None, tell: Tell = quiet) -> VerifyReport:
    """Check what lies in the working folder.

    Args:
        desk: where.
        named: an operation, or a job: then all of its operations.
        machine: check for this one, whether the sheet names it or not; None: for each the sheet names.
        tell: told how many of the operations are done.

    Raises:
        BadCall: a name nothing answers to, files that are wrong, ``unknown-rule`` for a waiver.
        CouldNot: what reading the repository raises.
    """
    if named.revision is not None:
        raise BadCall(
            "wrong-call",
            "verify checks the files as they lie here, not a revision",
            fix=f"leave @r{named.revision} out; proveout show says what was found when it was checked in",
        )
    tree = desk.repo.work_tree()
    shop = tree.shop()
    only = machine_named(shop, machine) if machine is not None else None
    path = find_job(tree, named.job, recorded=desk.repo.tree)
    job = tree.job(path)
    chosen = (
        [find_operation(job, named.operation)] if named.operation or not job.operations else job.operations
    )
    ids = {operation.id for operation in chosen}
    must_fit(tree, path, job, shop, ids)
    index = ProgramIndex(tree)
    texts = [operation_text(tree, path, job, operation, shop, index=index) for operation in chosen]
    beside = beside_in_hand(desk.repo, tree)
    return VerifyReport(
        operations=tuple(
            verified(text, shop, only, on_record=beside(text)) for text in told(texts, "operations", tell)
        )
    )
