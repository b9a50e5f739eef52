"""Whether operations fit shop.toml, and if not, where job.toml says what does not fit."""

from collections.abc import Collection

from tracker.checks.registry import nearest_names, rule_named
from tracker.errors import BadCall
from tracker.records.job import Job
from tracker.records.reading import job_against_shop
from tracker.records.shop import Shop
from tracker.services.ports import Tree
from tracker.services.verifying import CALL_RULES


def must_fit(tree: Tree, path: str, job: Job, shop: Shop, ids: Collection[str]) -> None:
    """Raise BadCall, with file:line, where an operation names what nobody knows.

    ``job-and-shop``: a machine or a person shop.toml does not know, or of the wrong kind. ``unknown-rule``: a waiver of a
    rule that does not exist; it would let nothing stand, and nobody would know.

    Args:
        tree: holds the job.toml at ``path``.
        path: of the job.toml.
        job: what it says.
        shop: what shop.toml says.
        ids: of the operations that are asked about.
    """
    _waivers_known(tree, path, job, ids)
    wrong = [one for one in job_against_shop(job, shop) if job.operations[int(one.path[1])].id in ids]
    if not wrong:
        return
    places = [f"{path}:{tree.line_of(path, one.path)}" for one in wrong]
    raise BadCall(
        "job-and-shop",
        wrong[0].message,
        where=places[0],
        fix=wrong[0].fix,
        reasons=tuple(f"{at}: {one.message}" for at, one in zip(places[1:], wrong[1:], strict=True)),
    )


def _waivers_known(tree: Tree, path: str, job: Job, ids: Collection[str]) -> None:
    for at, operation in enumerate(job.operations):
        for which, waiver in enumerate(operation.waivers if operation.id in ids else ()):
            name = waiver.rule.lower()
            if rule_named(name) is not None or name in CALL_RULES:
                continue
            near = nearest_names(name, CALL_RULES)
            line = tree.line_of(path, ("operations", at, "waivers", which, "rule"))
            raise BadCall(
                "unknown-rule",
                f"operation {operation.id} waives the rule {waiver.rule!r}, and there is none of that name",
                where=f"{path}:{line}",
                fix=f"did you mean {' or '.join(near)}?"
                if near
                else "proveout verify --list lists all rules",
            )
