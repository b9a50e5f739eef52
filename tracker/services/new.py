"""``new``: a job.toml drafted from the programs themselves, so that nobody begins with an empty page.

1. Of the files named, one that another of them calls is a called program, the others are main programs: one operation each.
2. A file of the repository stays where it is and job.toml points there; one from outside (or each, with ``copy``) is
   copied below the job's folder, byte for byte.
3. Each main program is run through with what it calls; what it says becomes the draft, what a tool list says stands
   before it, and what neither can know is a line with ``?``.

Nothing is recorded and nothing written over: a person reads the draft, then checks it in.
"""

import posixpath
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from tracker.errors import BadCall, Refused
from tracker.records.draft import DraftJob, DraftOperation
from tracker.records.ids import is_id
from tracker.records.job import Job, Operation
from tracker.records.shop import Machine, Shop
from tracker.records.template_draft import drafted_job, drafted_operation, open_questions
from tracker.services.desk import Desk
from tracker.services.drafting import Drawn, draw, job_of, with_list
from tracker.services.machine_named import machine_named
from tracker.services.naming import Named
from tracker.services.new_places import Given, Placed, free_id, places
from tracker.services.operation_text import operation_text
from tracker.services.overlay import Overlay
from tracker.services.path_lint import lint_paths
from tracker.services.paths import folder_of
from tracker.services.ports import NewFile, Tree
from tracker.services.ports_new import Drawer
from tracker.services.summary import called_of


@dataclass(frozen=True, slots=True, kw_only=True)
class NewReport:
    """What was drafted.

    ``written`` are the new files; ``added_to`` whether the operations were added to a job.toml that was there;
    ``open`` how many lines wait for a value; ``left_out`` headings of the tool list that mean no key.
    """

    job: str
    job_path: str
    operations: tuple[DraftOperation, ...]
    written: tuple[str, ...]
    added_to: bool
    open: int
    left_out: tuple[str, ...] = ()


def new(
    desk: Desk,
    drawer: Drawer,
    named: Named,
    given: Sequence[Given],
    *,
    machine: str | None = None,
    tools: Mapping[int, Mapping[str, object]] | None = None,
    left_out: tuple[str, ...] = (),
    copy: bool = False,
) -> NewReport:
    """Draft a job, or one operation of a job that is there.

    Args:
        desk: where from.
        drawer: puts the files down.
        named: the job, and the operation's id where one is meant.
        given: the programs.
        machine: id of the machine they are meant for.
        tools: a tool list: tool number -> key -> value.
        left_out: headings of that list that mean no key.
        copy: copy programs of the repository too, instead of pointing at them.

    Raises:
        BadCall: ``bad-name``, ``unknown-machine``, ``several-mains``, ``file-exists``, ``job-form``.
        Refused: ``job-exists``, ``operation-exists``, ``no-code``.
        CouldNot: ``no-shop``, ``not-written``.
    """
    tree = desk.repo.work_tree()
    shop = tree.shop()
    at = machine_named(shop, machine) if machine is not None else None
    job_path, job = _job(tree, named)
    taken = [operation.id.lower() for operation in job.operations] if job else []
    placed = places(named, _as_git_sees(tree, given), job_path, taken, copy=copy)
    drawn = [_drawn(tree, shop, job_path, named.job, one, at) for one in placed]
    operations = tuple(with_list(one.operation, tools or {}) for one in drawn)
    text = _written(drawer, tree, job_path, job, job_of(named.job, drawn, operations), placed)
    copies = tuple(file.path for one in placed for file in one.copies)
    return NewReport(
        job=named.job,
        job_path=job_path,
        operations=operations,
        written=(*copies, *(() if job else (job_path,))),
        added_to=job is not None,
        open=open_questions(text),
        left_out=left_out,
    )


def _as_git_sees(tree: Tree, given: Sequence[Given]) -> list[Given]:
    """What git leaves out where it lies is as a file from outside: it is copied."""
    return [one if one.path is None or tree.has(one.path) else replace(one, path=None) for one in given]


def _job(tree: Tree, named: Named) -> tuple[str, Job | None]:
    """Path of job.toml, and the job where there is one already."""
    if named.revision is not None or not is_id(named.job):
        raise BadCall(
            "bad-name", f"{str(named)!r} cannot be a new job", fix="write it like 4471 or 4471/op10"
        )
    if named.operation is not None and not is_id(named.operation):
        raise BadCall("bad-name", f"{named.operation!r} cannot be an operation", fix="write it like op10")
    path = tree.job_paths().get(named.job.lower())
    if path is None:
        return f"jobs/{named.job}/job.toml", None
    job = tree.job(path)
    if named.operation is None:
        free = free_id([operation.id.lower() for operation in job.operations])
        raise Refused(
            "job-exists",
            f"job {job.number} has a job.toml already; nothing is written over",
            where=path,
            fix=f"to add an operation name it: proveout new {job.number}/{free} FILE",
        )
    if any(operation.id.lower() == named.operation for operation in job.operations):
        raise Refused(
            "operation-exists",
            f"job {job.number} has an operation {named.operation} already; nothing is written over",
            where=path,
            fix="choose another id; ids are never used again",
        )
    return path, job


def _drawn(
    tree: Tree, shop: Shop, job_path: str, number: str, placed: Placed, machine: Machine | None
) -> Drawn:
    """A main program looked through where it will lie, with what its calls find there."""
    after = Overlay(tree, tree, given={file.path: file.data for file in placed.copies})
    program = posixpath.relpath(placed.path, folder_of(job_path))
    operation = Operation(
        id=placed.operation, program=program, machines=(machine.id,) if machine is not None else ()
    )
    job = Job(number=number, operations=(operation,))
    text = operation_text(after, job_path, job, operation, shop)
    main = text.programs[0]
    drawn = draw(main.name, main.data, machine=machine, called=called_of(text.programs).get)
    if not drawn.code:
        raise Refused(
            "no-code",
            f"{main.name} holds no code",
            where=placed.path,
            fix="save the program again; an empty file is no text to draft from",
        )
    names = [fault.why for fault in lint_paths(text.paths) if fault.path == placed.path]
    notes = (*drawn.operation.notes, *(one.message for one in text.findings), *text.notes, *names)
    return replace(
        drawn,
        operation=replace(
            drawn.operation, id=placed.operation, program=program, notes=tuple(dict.fromkeys(notes))
        ),
    )


def _written(
    drawer: Drawer,
    tree: Tree,
    job_path: str,
    job: Job | None,
    draft: DraftJob,
    placed: Sequence[Placed],
) -> str:
    """Put everything down; the drafted text."""
    copies = [file for one in placed for file in one.copies]
    if job is None:
        text = drafted_job(draft)
        drawer.put([*copies, NewFile(path=job_path, data=text.encode("utf-8"))])
        return text
    text = "".join("\n" + drafted_operation(operation) for operation in draft.operations)
    before = tree.read(job_path) or b""
    joined = before + (b"" if before.endswith(b"\n") else b"\n") + text.encode("utf-8")
    _still_says(job, drawer.reads_as(job_path, joined), job_path)
    drawer.put(copies)
    drawer.grow(job_path, before, joined[len(before) :])
    return text


def _still_says(before: Job, after: Job, job_path: str) -> None:
    """Raise BadCall where adding to the end changes what stood there, as for a job that names no operation itself."""
    if after.operations[: len(before.operations)] != before.operations:
        raise BadCall(
            "job-form",
            "operations cannot be added at the end of this job.toml: it does not write its own as [[operations]]",
            where=job_path,
            fix="write its operations as [[operations]] tables first, at the end of the file",
        )
