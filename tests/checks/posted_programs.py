"""Programs as posts and people write them (folder ``posted``), with their sheets, for the machines of an invented shop."""

import tomllib
from collections.abc import Mapping
from functools import cache, lru_cache
from pathlib import Path

from tests.checks.posted_faults import SHEET
from tracker.checks.check import check
from tracker.checks.finding import Result
from tracker.checks.subject import Earlier, OnRecord, ProgramIn, Subject
from tracker.checks.waivers import with_waivers
from tracker.frozen import replace
from tracker.records.job import Job, Operation
from tracker.records.reading import job_from, shop_from
from tracker.records.shop import Shop

POSTED = Path(__file__).parent / "posted"
JOBS = tuple(sorted(path.name for path in POSTED.iterdir() if path.is_dir()))


def machines_of(job: str, sheet: str | None = None) -> tuple[str, ...]:
    """The machines of a job's operation; of ``sheet`` if that stands instead of the one in the folder."""
    return tuple(_sheet(job, sheet).operations[0].machines)


def texts_of(job: str) -> dict[str, str]:
    """Texts of a job by file name, the main program first."""
    return dict(_texts(job))


# read once, for some thousands of subjects are made of them
@cache
def _texts(job: str) -> Mapping[str, str]:
    folder = POSTED / job
    paths = [folder / _sheet(job, None).operations[0].program, *sorted((folder / "sub").glob("*.nc"))]
    return {path.name: path.read_text("latin-1") for path in paths}


@cache
def _shop() -> Shop:
    shop, problems = shop_from(tomllib.loads((POSTED / "shop.toml").read_text("utf-8")))
    assert shop is not None, problems
    return shop


@cache
def _sheet(job: str, sheet: str | None) -> Job:
    read, problems = job_from(tomllib.loads(sheet or (POSTED / job / "job.toml").read_text("utf-8")))
    assert read is not None, problems
    return read


def posted(
    job: str,
    machine: str,
    texts: Mapping[str, str] | None = None,
    sheet: str | None = None,
    before: Mapping[str, str] | None = None,
) -> Subject:
    """A job's only operation on a machine; ``texts`` by file name and ``sheet`` instead of those in the folder.

    ``before``: the texts that were released and proven before.
    """
    shop, read = _shop(), _sheet(job, sheet)
    (operation,) = read.operations
    profile = shop.machine(machine)
    assert profile is not None
    programs = _programs(job, operation, {**texts_of(job), **(texts or {})})
    earlier, then = None, None
    if before is not None:
        earlier, then = _before(job, machine, sheet, tuple(before.items()))
    subject = Subject(
        job=read,
        operation=operation,
        machine=profile,
        programs=programs,
        checks=shop.checks,
        on_record=OnRecord(released=earlier, proven=earlier),
    )
    if then is not None:
        subject._then = then
    return subject


@lru_cache(maxsize=500)
def _before(
    job: str, machine: str, sheet: str | None, texts: tuple[tuple[str, str], ...]
) -> tuple[Earlier, dict[int, Subject]]:
    """What went before, and where subjects keep it: many slips have the same behind them, which is summed up once."""
    operation = _sheet(job, sheet).operations[0]
    return Earlier(label="r1", programs=_programs(job, operation, dict(texts)), operation=operation), {}


def _programs(job: str, operation: Operation, texts: Mapping[str, str]) -> tuple[ProgramIn, ...]:
    programs = []
    for at, (name, text) in enumerate(texts.items()):
        path = operation.program if at == 0 else f"sub/{name}"
        stem = name.partition(".")[0]
        number = int(stem[1:]) if stem[0] == "O" and stem[1:].isdigit() else None
        programs.append(ProgramIn(path=f"jobs/{job}/{path}", number=number, data=text.encode("latin-1")))
    return tuple(programs)


def judged(subject: Subject) -> Result:
    """What is found, less what the sheet waives."""
    result = check(subject)
    left = [one for one in with_waivers(result.findings, subject.operation.waivers) if one.waived is None]
    return replace(result, findings=tuple(left))


def slipped(job: str, old: str, new: str) -> tuple[dict[str, str], str | None]:
    """Texts of a job and its sheet (None: as it is) with a slip put in; ``old`` as in `posted_faults`."""
    texts = texts_of(job)
    if old.startswith(SHEET):
        whole = (POSTED / job / "job.toml").read_text("utf-8")
        passage = old.removeprefix(SHEET)
        assert passage in whole
        return texts, whole.replace(passage, new, 1)
    name = next(name for name, text in texts.items() if old in text)
    texts[name] = texts[name].replace(old, new, 1)
    return texts, None
