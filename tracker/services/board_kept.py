"""The whole board of ``status`` kept from one call to the next, for a shop of thousands of operations.

Rows of a job hang on its own records and those of no job with the states they came in with (whose ids stand for all they
follow), on the files below its folder, on its release tags, on shop.toml and its versions, and on the day. The SHA-256
of all these names them: where it is another, the job is judged anew. The rows of all jobs are kept once more under the
state of the whole clone, so that nothing at all has to be looked through where nothing happened.

What is kept shows; it lets nothing out: a release, an export, a gate and a push never look at it.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, cast

from tracker.digest import sha256_of
from tracker.policy.days import local_date, zone_of
from tracker.policy.gate import release_name
from tracker.records.events import DeviationRecord
from tracker.records.job import Job
from tracker.records.places import SHOP
from tracker.records.stored import Ledger
from tracker.services.desk import Desk
from tracker.services.paths import folder_of
from tracker.services.ports_kept import KeptAnswers
from tracker.services.status_look import Look, StatusRow

Said = tuple[str, list[list[Any]], list[str]]
_ROWS, _BOARD = "rows", "board"
_FIELDS = tuple(name for name in StatusRow.__slots__ if name != "standing")


@dataclass(frozen=True, slots=True, kw_only=True)
class OfJob:
    """The rows of one job, and the paths of its own files: job.toml, and programs of its newest revisions."""

    job: str
    rows: tuple[StatusRow, ...]
    own: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Whole:
    """Every job in order, and what else is said of the shop; ``deviations``: there ever was one."""

    jobs: tuple[OfJob, ...]
    problems: tuple[str, ...] = ()
    unreadable: tuple[str, ...] = ()
    signs: bool = False
    deviations: bool = False


def whole_board(desk: Desk, kept: KeptAnswers) -> Whole:
    """The board of today, as `tracker.services.status_look` works it out; rows come without the parts of their standing.

    Raises as `tracker.services.status.status` does.
    """
    shop = desk.repo.tree().shop()
    day = local_date(desk.clock.now(), zone_of(shop))
    name = sha256_of(f"{kept.state()} {day} {desk.verify is not None}".encode())
    before = _whole_from(kept.get(_BOARD, (name,)).get(name))
    if before is not None:
        return before
    found = _worked_out(desk, kept, str(day))
    kept.put(_BOARD, {name: _bytes(_whole_data(found))}, alone=True)
    return found


def _worked_out(desk: Desk, kept: KeptAnswers, day: str) -> Whole:
    look = Look.at(desk)
    jobs = look.jobs(None)
    names = dict(zip((path for path, _ in jobs), _names(desk, kept, look.ledger, jobs, day), strict=True))
    known = {key: _job_from(raw) for key, raw in kept.get(_ROWS, names.values()).items()}
    found = [known.get(names[path]) or _of_job(look, path, job) for path, job in jobs]
    if not all(known.get(name) for name in names.values()):
        rows_of = {names[path]: _bytes(_job_data(one)) for (path, _), one in zip(jobs, found, strict=True)}
        kept.put(_ROWS, rows_of, alone=True)
    return Whole(
        jobs=tuple(found),
        problems=tuple(look.problems),
        unreadable=tuple(f"{bad.path}: {bad.why}" for bad in look.ledger.unreadable),
        signs=look.seals.anybody,
        deviations=any(isinstance(one.record, DeviationRecord) for one in look.ledger.records),
    )


def _of_job(look: Look, path: str, job: Job) -> OfJob:
    rows = tuple(replace(row, standing=None) for row in look.rows([(path, job)]))
    return OfJob(job=job.number, rows=rows, own=look.own_files([(path, job)]))


def _names(
    desk: Desk, kept: KeptAnswers, ledger: Ledger, jobs: list[tuple[str, Job]], day: str
) -> Iterator[str]:
    """The name of all each job's rows hang on."""
    rows: dict[str, list[str]] = {}
    for stored in ledger.records:
        line = f"{stored.commit} {stored.sha256} {int(stored.in_hand)} {stored.path}"
        rows.setdefault((stored.record.job or "").casefold(), []).append(line)
    for tag in desk.repo.release_tags():
        name = release_name(tag.ref)
        if name is not None:
            rows.setdefault(name.job.casefold(), []).append(f"{tag.object_id} {tag.ref}")
    of_all = [
        day,
        str(desk.verify is not None),
        sha256_of(desk.repo.tree().read(SHOP) or b""),
        *(f"{version.order} {version.commit}" for version in ledger.shops),
        *(f"? {bad.path} {bad.why}" for bad in ledger.unreadable),
        *rows.get("", ()),
    ]
    base, files = _digest(of_all), kept.files_below("jobs")
    for path, job in jobs:
        yield _digest([base, path, *files.get(folder_of(path), ()), *rows.get(job.number.casefold(), ())])


def _digest(rows: list[str]) -> str:
    return sha256_of("\n".join(rows).encode("utf-8", "surrogateescape"))


def _bytes(data: object) -> bytes:
    return json.dumps(data, separators=(",", ":")).encode("ascii")


def _job_data(one: OfJob) -> list[object]:
    return [one.job, [[getattr(row, name) for name in _FIELDS] for row in one.rows], list(one.own)]


def _job_from(raw: bytes) -> OfJob | None:
    try:
        return _job_read(cast(Said, json.loads(raw)))
    except (ValueError, TypeError):
        return None


def _job_read(said: Said) -> OfJob:
    job, rows, own = said
    return OfJob(
        job=str(job),
        rows=tuple(StatusRow(**dict(zip(_FIELDS, row, strict=True))) for row in rows),
        own=tuple(str(path) for path in own),
    )


def _whole_data(found: Whole) -> Mapping[str, object]:
    return {
        "jobs": [_job_data(one) for one in found.jobs],
        "problems": found.problems,
        "unreadable": found.unreadable,
        "signs": found.signs,
        "deviations": found.deviations,
    }


def _whole_from(raw: bytes | None) -> Whole | None:
    try:
        said = json.loads(raw) if raw is not None else None
        if said is None:
            return None
        return Whole(
            jobs=tuple(_job_read(one) for one in said["jobs"]),
            problems=tuple(map(str, said["problems"])),
            unreadable=tuple(map(str, said["unreadable"])),
            signs=bool(said["signs"]),
            deviations=bool(said["deviations"]),
        )
    except (ValueError, TypeError, KeyError):
        return None
