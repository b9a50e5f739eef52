"""What a tree holds of a job, as facts the rules of release decide on."""

from tracker.errors import BadCall
from tracker.frozen import dataclass
from tracker.policy.release_rules import OperationFacts
from tracker.records.job import Job, Operation
from tracker.records.shop import Shop
from tracker.services.call_lookup import ProgramIndex
from tracker.services.operation_text import OperationText, operation_text
from tracker.services.paths import folder_of
from tracker.services.ports import Tree
from tracker.services.program_facts import FactsKept


@dataclass(frozen=True, slots=True, kw_only=True)
class JobFacts:
    """A job of a tree: ``texts`` by operation id as written, those whose text could be put together."""

    path: str
    job: Job
    operations: tuple[OperationFacts, ...]
    texts: dict[str, OperationText]

    @property
    def folder(self) -> str:
        """``jobs/4471``."""
        return folder_of(self.path)


def job_facts(tree: Tree, path: str, shop: Shop, kept: FactsKept | None = None) -> JobFacts:
    """All operations of the job at ``path``; raises BadCall for a job.toml that is wrong.

    ``kept``: what is known of the texts of programs by now; what is found out is added.
    """
    job = tree.job(path)
    index = ProgramIndex(tree, kept={} if kept is None else kept)
    texts: dict[str, OperationText] = {}
    found: list[OperationFacts] = []
    for written in job.operations:
        operation = job.operation(written.id) or written
        try:
            text = operation_text(tree, path, job, operation, shop, index=index)
        except BadCall as fault:
            found.append(_without_text(operation, fault))
        else:
            texts[operation.id] = text
            found.append(_with_text(operation, text))
    return JobFacts(path=path, job=job, operations=tuple(found), texts=texts)


def _with_text(operation: Operation, text: OperationText) -> OperationFacts:
    return OperationFacts(
        operation=operation.id,
        alternative_to=operation.alternative_to,
        machines=operation.machines,
        files=text.files,
        sheet_fingerprint=text.sheet_fingerprint,
        fingerprint=text.fingerprint,
        rule_version=text.rule_version,
        findings=text.findings,
    )


def _without_text(operation: Operation, fault: BadCall) -> OperationFacts:
    where = f"{fault.where}: " if fault.where else ""
    return OperationFacts(
        operation=operation.id,
        alternative_to=operation.alternative_to,
        machines=operation.machines,
        problem=f"{where}{fault.what}",
    )
