"""Finding the operation a person named: ``4471``, ``4471/op10``, ``4471/OP 10``.

Jobs are found by the name of their folder and, where that differs, by the number in their job.toml. Case never
matters. What is not there is answered with the nearest names.
"""

import re
from collections.abc import Callable, Iterable

from tracker.errors import BadCall
from tracker.records.job import Job, Operation
from tracker.records.places import is_job_file
from tracker.services.naming import Named
from tracker.services.paths import folder_of, name_of
from tracker.services.ports import Tree

GONE = "is recorded, and is not in this folder"


def locate(
    tree: Tree, named: Named, *, recorded: Callable[[], Tree] | None = None
) -> tuple[str, Job, Operation]:
    """The path of job.toml, the job and the operation ``named`` means; ``recorded`` as of `find_job`.

    Raises:
        BadCall: ``unknown-job``, ``unknown-operation``, ``which-operation`` (a job of several operations, and none
            named), or a job.toml that is wrong.
    """
    path = find_job(tree, named.job, recorded=recorded)
    job = tree.job(path)
    return path, job, find_operation(job, named.operation)


def find_job(tree: Tree, name: str, *, recorded: Callable[[], Tree] | None = None) -> str:
    """The path of the job.toml of the job called ``name``; raises BadCall (``unknown-job``).

    ``recorded``: for a working folder, what gives the last commit: a job.toml that is only gone from the folder is no unknown job.
    """
    found = _path_of(tree, name)
    if found is not None:
        return found
    gone = _path_of(recorded(), name) if recorded is not None else None
    if gone is not None:
        raise BadCall("unknown-job", f"{gone} {GONE}", where=gone, fix=bring_back(gone))
    known = [_folder_name(path) for path in tree.job_paths().values()]
    raise BadCall(
        "unknown-job",
        f"there is no job {name!r} here",
        fix=_nearest(name, known, nothing="no job has a job.toml yet; write jobs/NUMBER/job.toml"),
    )


def bring_back(path: str) -> str:
    """What puts a file back that was recorded, and taken out of the working folder."""
    return f'git checkout HEAD -- ":/{path}" brings it back'


def _path_of(tree: Tree, name: str) -> str | None:
    exact = f"jobs/{name}/job.toml"
    if is_job_file(exact) and tree.has(exact):  # a state need not be listed for it
        return exact
    paths = tree.job_paths()
    return paths.get(name.lower()) or _by_number(tree, paths.values(), name)


def find_operation(job: Job, name: str | None) -> Operation:
    """The operation called ``name``, or the only one; raises BadCall.

    The error is ``unknown-operation``, or ``which-operation`` where several could be meant.
    """
    if name is None:
        if len(job.operations) == 1:
            return resolved(job, job.operations[0])
        known = ", ".join(f"{job.number}/{op.id}" for op in job.operations)
        raise BadCall(
            "which-operation",
            f"job {job.number} has {len(job.operations)} operations; which one?",
            fix=f"name one of: {known}" if known else "add an [[operations]] table to its job.toml",
        )
    plain = _plain(name)
    found = next((op for op in job.operations if _plain(op.id) == plain), None)
    if found is None:
        raise BadCall(
            "unknown-operation",
            f"job {job.number} has no operation {name!r}",
            fix=_nearest(
                name, [op.id for op in job.operations], nothing="add an [[operations]] table to its job.toml"
            ),
        )
    return resolved(job, found)


def resolved(job: Job, operation: Operation) -> Operation:
    """The operation with the sheet values it takes over from the one it is an alternative to."""
    return job.operation(operation.id) or operation


def _by_number(tree: Tree, paths: Iterable[str], name: str) -> str | None:
    """A job whose number differs from its folder's name; a broken job.toml of another job is passed over."""
    for path in paths:
        try:
            number = tree.job(path).number
        except BadCall:
            continue
        if number.lower() == name.lower():
            return path
    return None


def _folder_name(job_path: str) -> str:
    return name_of(folder_of(job_path))


def _plain(name: str) -> str:
    return re.sub(r"\s+", "", name).lower()


def _nearest(name: str, known: list[str], *, nothing: str) -> str:
    if not known:
        return nothing
    import difflib  # only a name that is not there pays for it

    near = difflib.get_close_matches(name, known, n=3, cutoff=0.5)
    return f"did you mean {' or '.join(near)}?" if near else f"known: {', '.join(sorted(known)[:8])}"
