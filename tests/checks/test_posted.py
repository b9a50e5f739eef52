"""Programs in many styles of posting have no finding on their machines; slips put into them are found."""

import pytest

from tests.checks.posted_faults import FAULTS, MISSED, SAID, SHEET
from tests.checks.posted_programs import JOBS, POSTED, judged, machines_of, posted, texts_of
from tracker.checks.check import check
from tracker.checks.waivers import unused

ON_MACHINES = [(job, machine) for job in JOBS for machine in machines_of(job)]

# what is said of a program that is as it should be: variables and shifted zeros are named, never more
NAMED = {
    "2007": {"uses-variables"},
    "2010": {"uses-variables"},
    "2019": {"writes-offsets"},
    "2029": {"uses-variables"},
    "2034": {"uses-variables"},
    "2038": {"uses-variables"},
    "2040": {"uses-variables"},
    "2041": {"uses-variables"},
}
# what cannot be told of it, in a few words of the reason
NOT_TOLD = {
    "2005": {"no G0 to G3 in force"},
    "2007": {"by variable", "several work offsets"},
    "2010": {"lives in the control"},
    "2011": {"pockets are not the tool numbers"},
    "2013": {"several work offsets"},
    "2015": {"several work offsets"},
    "2020": {"G68"},
    "2023": {"differs between lathes"},
    "2024": {"differs between lathes", "no work offset", "driven tool, or a bar"},
    "2025": {"differs between lathes", "driven tool, or a bar"},
    "2027": {"no work offset"},
    "2033": {"G13", "start the spindle with it"},
    "2037": {"differs between lathes", "no work offset"},
    "2040": {"several work offsets", "#500 is not known"},
    "2041": {"G87", "G31", "are not known"},
    "2042": {"driven tool"},
}


def test_there_are_many_on_every_kind_of_machine():
    assert len(JOBS) >= 40
    assert len({machine for _, machine in ON_MACHINES}) == 9


@pytest.mark.parametrize(("job", "machine"), ON_MACHINES)
def test_a_program_as_it_should_be(job, machine):
    result = judged(posted(job, machine))
    assert {one.rule for one in result.findings} == NAMED.get(job, set())
    assert {one.severity for one in result.findings} <= {"info"}
    reasons = {one.why for one in result.not_computed}
    wanted = NOT_TOLD.get(job, set())
    assert all(any(part in why for part in wanted) for why in reasons), reasons
    assert all(any(part in why for why in reasons) for part in wanted), reasons


@pytest.mark.parametrize("job", ["2009", "2017"])
def test_its_waivers_are_needed(job):
    subject = posted(job, machines_of(job)[0])
    assert unused(subject.operation.waivers, check(subject).findings) == ()


@pytest.mark.parametrize(
    ("job", "old", "new", "rule"), FAULTS, ids=[f"{at}-{one[0]}-{one[3]}" for at, one in enumerate(FAULTS)]
)
def test_a_slip(job, old, new, rule):
    texts, sheet = texts_of(job), None
    if old.startswith(SHEET):
        whole = (POSTED / job / "job.toml").read_text("utf-8")
        passage = old.removeprefix(SHEET)
        assert passage in whole
        sheet = whole.replace(passage, new, 1)
    else:
        name = next(name for name, text in texts.items() if old in text)
        texts[name] = texts[name].replace(old, new, 1)
    machine = machines_of(job)[0]
    clean, result = judged(posted(job, machine)), judged(posted(job, machine, texts, sheet))
    found = {one.rule for one in result.findings if one.severity != "info"}
    more_untold = len(result.not_computed) > len(clean.not_computed)
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
