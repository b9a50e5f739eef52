"""Whether operations fit shop.toml, and if not, where job.toml says what does not fit."""

from collections.abc import Collection

from tracker.errors import BadCall
from tracker.records.job import Job
from tracker.records.reading import job_against_shop
from tracker.records.shop import Shop
from tracker.services.ports import Tree


def must_fit(tree: Tree, path: str, job: Job, shop: Shop, ids: Collection[str]) -> None:
    """Raise BadCall (``job-and-shop``, with file:line) where an operation names what shop.toml does not know.

    Args:
        tree: holds the job.toml at ``path``.
        path: of the job.toml.
        job: what it says.
        shop: what shop.toml says.
        ids: of the operations that are asked about.
    """
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
