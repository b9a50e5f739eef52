"""Programs in many styles of posting have no finding on their machines; slips put into them are found."""

from functools import cache

import pytest

from tests.checks.posted_faults import FAULTS, MISSED, SAID
from tests.checks.posted_named import NAMED, NOT_TOLD
from tests.checks.posted_programs import JOBS, judged, machines_of, posted, slipped, texts_of
from tests.checks.subjects import reasons
from tracker.checks.check import check
from tracker.checks.waivers import unused

ON_MACHINES = [(job, machine) for job in JOBS for machine in machines_of(job)]


def test_there_are_many_on_every_kind_of_machine():
    assert len(JOBS) >= 40
    assert len({machine for _, machine in ON_MACHINES}) == 9


@pytest.mark.parametrize(("job", "machine"), ON_MACHINES)
def test_a_program_as_it_should_be(job, machine):
    result = judged(posted(job, machine))
    assert {one.rule for one in result.findings} == NAMED.get(job, set())
    assert {one.severity for one in result.findings} <= {"info"}
    told = reasons(result)
    wanted = NOT_TOLD.get(job, set())
    assert all(any(part in why for part in wanted) for why in told), told
    assert all(any(part in why for why in told) for part in wanted), told


@pytest.mark.parametrize("job", ["2009", "2017"])
def test_its_waivers_are_needed(job):
    subject = posted(job, machines_of(job)[0])
    assert unused(subject.operation.waivers, check(subject).findings) == ()


@cache
def untold_of(job):
    """How much is not computed of a job as it should be; the same for each of its slips."""
    return len(judged(posted(job, machines_of(job)[0], before=texts_of(job))).not_computed)


@pytest.mark.parametrize(
    ("job", "old", "new", "rule"), FAULTS, ids=[f"{at}-{one[0]}-{one[3]}" for at, one in enumerate(FAULTS)]
)
def test_a_slip(job, old, new, rule):
    texts, sheet = slipped(job, old, new)
    machine = machines_of(job, sheet)[0]
    result = judged(posted(job, machine, texts, sheet, texts_of(job)))
    found = {one.rule for one in result.findings} - NAMED.get(job, set())
    more_untold = len(result.not_computed) > untold_of(job)
    if rule == MISSED:
        assert (found, more_untold) == (set(), False)
    elif rule == SAID:
        assert more_untold
    else:
        assert rule in found


def test_every_program_has_slips_and_few_pass():
    for job in JOBS:
        assert len([one for one in FAULTS if one[0] == job]) >= 3, job
    passed = [one for one in FAULTS if one[3] == MISSED]
    assert len(passed) <= len(FAULTS) / 15
