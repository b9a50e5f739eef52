"""Subjects for the tests of checks: from a text, from a rule's example, from the sample shop."""

import tomllib
from collections.abc import Mapping
from pathlib import Path

from tracker.checks.examples import MILL, SHEET
from tracker.checks.finding import Result
from tracker.checks.rule import Rule
from tracker.checks.subject import NOTHING, Earlier, OnRecord, Other, ProgramIn, Subject
from tracker.frozen import replace
from tracker.records.job import Job, Operation
from tracker.records.reading import job_from, shop_from
from tracker.records.shop import Checks, Machine, Shop

JOB = Job(number="4471", drawing="4471", drawing_revision="C", material="6061-T6, sawn blank")

# keys of sheet and machine most shops leave out: what is said of their absence
RARELY_STATED = (
    "flute_length of T",
    "length of T",
    "weight of T",
    "lowest_z of T",
    "max_tool_length of ",
    "max_tool_weight of ",
    "diameter of the stock is not stated",
    "bottom of the stock is not stated",
    "x and y of the stock are not stated",
)


def reasons(result: Result) -> set[str]:
    """What could not be computed, but for keys most shops leave out."""
    return {one.why for one in result.not_computed if not one.why.startswith(RARELY_STATED)}


def subject(
    text: str,
    *,
    sheet: Operation = SHEET,
    machine: Machine | None = MILL,
    called: Mapping[int, str] | None = None,
    checks: Checks | None = None,
    before: str | None = None,
    others: Mapping[int, str] | None = None,
) -> Subject:
    programs = [ProgramIn(path="op10/O1001.nc", number=1001, data=text.encode("latin-1"))]
    for number, more in (called or {}).items():
        programs.append(ProgramIn(path=f"sub/O{number}.nc", number=number, data=more.encode("latin-1")))
    return Subject(
        job=JOB,
        operation=sheet,
        machine=machine,
        programs=tuple(programs),
        checks=checks or Checks(),
        on_record=replace(
            went_before(before, sheet) if before is not None else NOTHING,
            others=tuple(Other(number=number, where=where) for number, where in (others or {}).items()),
        ),
    )


def went_before(text: str, sheet: Operation, *called: ProgramIn) -> OnRecord:
    """A text released and proven before."""
    main = ProgramIn(path="op10/O1001.nc", number=1001, data=text.encode("latin-1"))
    programs = (main, *called)
    return OnRecord(
        released=Earlier(label="release 2", programs=programs, operation=sheet),
        proven=Earlier(label="r3", programs=programs, operation=sheet),
    )


def clean_of(rule: Rule) -> Subject:
    one = rule.example
    return subject(one.clean, sheet=one.sheet, machine=one.machine, called=one.called, before=one.before)


def tripping_of(rule: Rule) -> Subject:
    one = rule.example
    return subject(
        one.trips,
        sheet=one.trips_sheet or one.sheet,
        machine=one.trips_machine or one.machine,
        called=one.called if one.trips_called is None else one.trips_called,
        before=one.before,
        others=one.others,
    )


def sample_shop(project: Path) -> Shop:
    shop, problems = shop_from(tomllib.loads((project / "sample_repo/shop/shop.toml").read_text("utf-8")))
    assert shop is not None, problems
    return shop


def sample(
    project: Path, job_number: str, operation: str, texts: Mapping[str, bytes] | None = None
) -> Subject:
    """An operation of the sample shop on its machine; ``texts`` by file name instead of those in it."""
    folder = project / "sample_repo/shop/jobs" / job_number
    job, problems = job_from(tomllib.loads((folder / "job.toml").read_text("utf-8")))
    assert job is not None, problems
    sheet = job.operation(operation)
    assert sheet is not None
    shop = sample_shop(project)
    paths = [folder / sheet.program, *sorted((folder / "sub").glob("*.nc"))]
    programs = tuple(
        ProgramIn(
            path=path.relative_to(folder.parent.parent).as_posix(),
            number=int(path.stem[1:]),
            data=(texts or {}).get(path.name, path.read_bytes()),
        )
        for path in paths
    )
    machine = shop.machine(sheet.machines[0])
    return Subject(job=job, operation=sheet, machine=machine, programs=programs, checks=shop.checks)


SAMPLES = (("4471", "op10"), ("4471", "op10-m3"), ("4471", "op20"), ("4488", "op10"), ("4502", "op10"))
