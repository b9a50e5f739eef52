"""What a check-in takes in and what it rests on: the checks before anything is written.

- A file of the working folder must still be what the use case read.
- Bytes that are nowhere else are never written over: edits not checked in, a staged text nobody committed.
- When the branch moved meanwhile, what was decided on must not have changed.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from tracker.errors import BadCall, Refused
from tracker.records.places import SHOP, is_below_records, job_folder, operation_of_record
from tracker.records.shop import Person
from tracker.services.ports import Head, NewFile
from tracker.store.objects import object_id
from tracker.store.tree import CommitTree, Entry
from tracker.store.work_tree import WorkTree, check_path, is_file, read_file

_NEW_FILE = "100644"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What a check-in is asked to do; the fields are those of `Repository.commit`."""

    files: Sequence[NewFile]
    from_work_tree: Sequence[str]
    removed: Sequence[str]
    message: str
    author: Person
    at: datetime
    expect: Head | None = None


def contents(work: WorkTree, plan: Plan) -> dict[str, bytes]:
    """Path -> bytes of everything to be committed; files of the working folder as they are now.

    Raises BadCall (``missing-file``, ``bad-path``), Refused (``changed-meanwhile``, ``still-there``).
    """
    found: dict[str, bytes] = {}
    for path in plan.from_work_tree:
        data = read_file(work.root, path)
        if data is None:
            fix = "save it there, or put the name right"
            raise BadCall("missing-file", "there is no such file", where=path, fix=fix)
        seen = work.seen(path)
        if seen is not None and seen != hashlib.sha256(data).hexdigest():
            raise changed_meanwhile(path)
        found[path] = data
    for file in plan.files:
        check_path(file.path)
        found[file.path] = file.data
    for path in plan.removed:
        check_path(path)
        if is_file(work.root / path):
            fix = "take it away first"
            raise Refused("still-there", "this file is still in the folder", where=path, fix=fix)
    return found


def changed_meanwhile(path: str) -> Refused:
    """The error for a file that is not what was read a moment ago."""
    return Refused(
        "changed-meanwhile",
        "this file was saved anew while it was being checked in",
        where=path,
        fix="run it again when the other program is done with it",
    )


def moved(why: str) -> Refused:
    """The error for a decision whose ground has shifted."""
    return Refused("moved", why, fix="look at what changed, then run it again")


def protect_edits(
    work: WorkTree, plan: Plan, before: CommitTree, staged: Mapping[str, Entry], zero: str
) -> None:
    """Refuse to write over bytes that are nowhere else; ``zero`` is any id (its length counts).

    Raises Refused (``uncommitted-edits``; ``moved`` for a record that is there already with other bytes).
    """
    for file in plan.files:
        there = read_file(work.root, file.path)
        old = before.read(file.path)
        if is_below_records(file.path) and old not in (None, file.data):
            raise moved(f"{file.path} is there already, and records are never changed")
        known = {object_id("blob", data, like=zero) for data in (file.data, old, there) if data is not None}
        index = staged.get(file.path)
        if there not in (None, file.data, old) or (index is not None and index.blob not in known):
            raise Refused(
                "uncommitted-edits",
                "this file holds edits that are not checked in",
                where=file.path,
                fix="check them in, or put them aside, first",
            )


def entries(
    held: Mapping[str, bytes], removed: Sequence[str], before: CommitTree, zero: str
) -> dict[str, Entry | None]:
    """The entries of index and tree to make, None for a path to take out.

    The ids are computed here; git's own answer is held against them when it stores the bytes.
    """
    found: dict[str, Entry | None] = {}
    for path, data in held.items():
        old = before.entries.get(path)
        found[path] = Entry(old.mode if old else _NEW_FILE, object_id("blob", data, like=zero))
    return found | dict.fromkeys(removed)


def still_holds(before: CommitTree, now: CommitTree, plan: Plan, made: Mapping[str, Entry | None]) -> None:
    """Raise Refused (``moved``) when what this check-in decided on, or writes, is not what it was."""
    changed = {
        path
        for path in before.all_entries.keys() | now.all_entries.keys()
        if before.all_entries.get(path) != now.all_entries.get(path)
    }
    ours = {path for path in changed if path in made and now.all_entries.get(path) != made[path]}
    ground = {path for path in changed if _rests_on(path, made)} if plan.expect else set()
    if ours | ground:
        raise moved(f"somebody else changed {min(ours | ground)} meanwhile")


def _rests_on(path: str, made: Mapping[str, Entry | None]) -> bool:
    """Whether a change of ``path`` touches the ground of a check-in that writes ``made``.

    That is shop.toml, what jobs share, and the job's own folder; of its records only those of the same operation,
    unless a record of the whole job is written.
    """
    jobs = {job for each in made if (job := job_folder(each))}
    if path == SHOP or (jobs and path.startswith("common/")):
        return True
    job = job_folder(path)
    if job is None or job not in jobs:
        return False
    operation = operation_of_record(path)
    written = {
        operation_of_record(each) for each in made if job_folder(each) == job and is_below_records(each)
    }
    return operation is None or not written or None in written or operation in written
