from datetime import UTC, datetime

import pytest

from tests.fakes.repository import FakeRepository
from tracker.checks.examples import MILLING, edited
from tracker.clock import SetClock
from tracker.errors import BadCall
from tracker.services.desk import Desk
from tracker.services.naming import parse_named
from tracker.services.verify import VerifyReport, verify
from tracker.services.verifying import kept

SHOP = """format = 1
[shop]
name = "Test shop"
[[people]]
initials = "np"
name = "Nora Pencil"
email = "np@shop.example"
roles = ["programmer"]
[[people]]
initials = "ss"
name = "Sol Shim"
email = "ss@shop.example"
roles = ["setup"]
[[machines]]
id = "MILL2"
type = "mill"
units = "inch"
changer = "side-mount"
large_tool_over = 3.15
rapid = { x = 900, y = 900, z = 700 }
travel = { x = [-30.0, 0.0], y = [-16.0, 0.0], z = [-20.0, 0.0] }
max_rpm = 8000
decimal = "calculator"
codes = ["G0-G99", "M0-M30", "M98-M99"]
max_tool_length = 12.0
max_tool_weight = 15.0
[[machines]]
id = "MILL3"
type = "mill"
units = "inch"
changer = "umbrella"
max_rpm = 3500
decimal = "calculator"
"""
JOB = """format = 1
[job]
number = "77"
[[operations]]
id = "op10"
program = "op10/O1001.nc"
machines = ["MILL2"]
units = "inch"
clearance_z = 0.5
stock = { top = 0.05 }
[[operations.offsets]]
code = "G54"
[[operations.tools]]
number = 1
diameter = 0.5
stick_out = 1.25
flute_length = 1.0
length = 4.5
weight = 3.0
lowest_z = -0.5
[[operations.tools]]
number = 2
diameter = 0.201
stick_out = 1.75
flute_length = 1.5
length = 5.0
weight = 3.0
lowest_z = -1.0
"""
WAIVER = """[[operations.waivers]]
rule = "%s"
%s
reason = "the holder was turned down"
by = "%s"
"""
WRONG_H = edited(("G43 H2", "G43 H1"))


def report(program: str = MILLING, *, job: str = JOB, more=None, named="77", machine=None) -> VerifyReport:
    work = {
        "shop.toml": SHOP.encode(),
        "jobs/77/job.toml": job.encode(),
        "jobs/77/op10/O1001.nc": program.encode(),
    }
    work |= {path: text.encode() for path, text in (more or {}).items()}
    desk = Desk(repo=FakeRepository(work=work), clock=SetClock(datetime(2026, 3, 2, tzinfo=UTC)))
    return verify(desk, parse_named(named), machine)


def found(said: VerifyReport) -> list[tuple[str, str | None, bool]]:
    return [
        (one.rule, one.machine, one.waived is not None) for each in said.operations for one in each.findings
    ]


# what rests on keys this shop and sheet leave out
NOT_STATED = {
    "code-not-on-machine",
    "flute-short",
    "lowest-z",
    "span-not-stock",
    "tool-too-heavy",
    "tool-too-long",
    "travel-z-short",
}


def test_a_clean_program_has_no_finding():
    said = report()
    assert (found(said), said.stops) == ([], False)
    (only,) = said.operations
    assert {one.rule for one in only.not_computed} <= NOT_STATED
    assert only.done == len(only.checks) - len({one.rule for one in only.not_computed}) > 40


def test_a_finding_names_file_line_tool_machine():
    said = report(WRONG_H)
    (one,) = said.operations[0].findings
    assert (one.rule, one.severity, one.file, one.line, one.tool, one.machine) == (
        "h-not-tool",
        "refuse",
        "jobs/77/op10/O1001.nc",
        24,
        "2",
        "MILL2",
    )
    assert said.stops is True
    assert kept(one).file == one.file


def test_each_machine_of_the_sheet_is_checked():
    both = JOB.replace('["MILL2"]', '["MILL2", "MILL3"]')
    said = report(job=both)
    assert {machine for _, machine, _ in found(said)} == {"MILL3"}
    assert {"speed-over-limit", "precall-on-umbrella"} == {rule for rule, _, _ in found(said)}
    assert said.operations[0].machines == ("MILL2", "MILL3")


def test_another_machine_may_be_asked_about():
    said = report(machine="mill3")
    assert {rule for rule, _, _ in found(said)} == {"speed-over-limit", "precall-on-umbrella"}


def test_without_a_machine_its_figures_are_not_computed():
    said = report(job=JOB.replace('machines = ["MILL2"]\n', ""))
    assert found(said) == []
    assert said.operations[0].machines == ()
    assert {one.rule for one in said.operations[0].not_computed} >= {"speed-over-limit", "no-precall"}


@pytest.mark.parametrize("what", ["tool = 2", 'line = "g43 h1 z1. m8"', 'tool = 2\nline = "G43H1Z1.M8"'])
def test_a_waived_finding_stops_nothing(what):
    said = report(WRONG_H, job=JOB + WAIVER % ("h-not-tool", what, "np"))
    assert (found(said), said.stops) == ([("h-not-tool", "MILL2", True)], False)
    assert said.operations[0].unused == ()


def test_a_waiver_of_another_tool_lets_nothing_stand_and_is_told():
    said = report(WRONG_H, job=JOB + WAIVER % ("h-not-tool", "tool = 1", "np"))
    assert (found(said), said.stops) == ([("h-not-tool", "MILL2", False)], True)
    assert [one.tool for one in said.operations[0].unused] == [1]


@pytest.mark.parametrize(
    ("rule", "by", "name", "fix"),
    [
        ("h-not-a-tool", "np", "unknown-rule", "did you mean h-not-tool"),
        ("qqqqqq", "np", "unknown-rule", "verify --list"),
        ("h-not-tool", "ss", "job-and-shop", "programmer or quality"),
        ("h-not-tool", "zz", "job-and-shop", "programmer or quality"),
    ],
)
def test_a_waiver_that_cannot_count_is_an_error(rule, by, name, fix):
    with pytest.raises(BadCall) as caught:
        report(WRONG_H, job=JOB + WAIVER % (rule, "tool = 2", by))
    text = (JOB + WAIVER % (rule, "tool = 2", by)).splitlines()
    wrong = f'rule = "{rule}"' if name == "unknown-rule" else f'by = "{by}"'
    assert (caught.value.name, caught.value.where) == (name, f"jobs/77/job.toml:{text.index(wrong) + 1}")
    assert fix in (caught.value.fix or "")


LATHE = '[[machines]]\nid = "LATHE1"\ntype = "lathe"\nunits = "inch"\n'


@pytest.mark.parametrize(
    ("old", "new", "says", "fix"),
    [
        ('["MILL2"]', '["MILL2", "LATHE1"]', "machines of two kinds", "an operation for each"),
        ('["MILL2"]', '["MIL2"]', "'MIL2', which is not in shop.toml", "MILL2"),
        ("number = 2", "number = 1", "1", ""),
        ("stick_out = 1.75", "stick_out = -1.75", "-1.75", ""),
        ('code = "G54"', 'code = "G64"', "G64", ""),
    ],
)
def test_what_is_wrong_in_job_toml_is_said_with_its_line(old, new, says, fix):
    job = JOB.replace(old, new, 1)
    with pytest.raises(BadCall) as caught:
        report(job=job, more={"shop.toml": SHOP + LATHE})
    line = job[: JOB.index(old)].count("\n") + 1
    assert caught.value.where == f"jobs/77/job.toml:{line}"
    assert says in caught.value.what
    assert caught.value.fix
    assert fix in caught.value.fix


def test_several_mistakes_each_have_their_line():
    job = JOB.replace('["MILL2"]', '["MIL2", "MIL3"]') + WAIVER % ("h-not-tool", "tool = 2", "ss")
    with pytest.raises(BadCall) as caught:
        report(job=job)
    assert caught.value.where == "jobs/77/job.toml:7"
    last = job.splitlines().index('by = "ss"') + 1
    assert [one.partition(": ")[0] for one in caught.value.reasons] == [
        "jobs/77/job.toml:7",
        f"jobs/77/job.toml:{last}",
    ]


def test_a_missing_called_program_is_among_the_findings_and_may_be_waived():
    text = edited(("G41 D1 X0. F40.\n", "M98 P1002\nG41 D1 X0. F40.\n"))
    said = report(text)
    assert ("call-missing", None, False) in found(said)
    assert said.stops is True
    assert any("1002" in one.why for one in said.operations[0].not_computed)
    waived = report(text, job=JOB + WAIVER % ("call-missing", 'line = "M98 P1002"', "np"))
    assert ("call-missing", None, True) in found(waived)


def test_called_programs_are_run_and_their_lines_named():
    sub = "%\nO1002\nG0 X2. Z0.1\nG1 Z-0.1 F20.\nM99\n%\n"
    text = edited(("G41 D1 X0. F40.\n", "M98 P1002\nG41 D1 X0. F40.\n"))
    said = report(text, more={"jobs/77/sub/O1002.nc": sub})
    places = [(one.rule, one.file, one.line) for one in said.operations[0].findings]
    assert places == [("rapid-down-across", "jobs/77/sub/O1002.nc", 3)]


def test_a_job_means_all_its_operations():
    two = JOB + JOB[JOB.index("[[operations]]") :].replace("op10", "op20").replace("O1001", "O1003")
    other = WRONG_H.replace("O1001", "O1003")
    said = report(job=two, more={"jobs/77/op20/O1003.nc": other})
    assert [(one.operation, len(one.findings)) for one in said.operations] == [("op10", 0), ("op20", 1)]
    assert len(report(job=two, named="77/OP 20", more={"jobs/77/op20/O1003.nc": other}).operations) == 1


@pytest.mark.parametrize(
    ("named", "machine", "name"),
    [
        ("78", None, "unknown-job"),
        ("77/op30", None, "unknown-operation"),
        ("77/op10@r1", None, "wrong-call"),
        ("77", "MILL9", "unknown-machine"),
    ],
)
def test_names_nothing_answers_to(named, machine, name):
    with pytest.raises(BadCall) as caught:
        report(named=named, machine=machine)
    assert caught.value.name == name


def test_margins_of_the_shop_count(monkeypatch):
    text = edited(("Z0.15\n", "Z0.12\n"))
    assert found(report(text)) == []
    monkeypatch.setattr(f"{__name__}.SHOP", SHOP + "[checks]\nrapid_gap = 2\n")
    assert [rule for rule, _, _ in found(report(text))] == ["rapid-near-part"]


def test_how_far_it_is_is_told_operation_by_operation():
    two = (
        JOB + '[[operations]]\nid = "op20"\nprogram = "op10/O1001.nc"\nmachines = ["MILL2"]\nunits = "inch"\n'
    )
    work = {
        "shop.toml": SHOP.encode(),
        "jobs/77/job.toml": two.encode(),
        "jobs/77/op10/O1001.nc": MILLING.encode(),
    }
    desk = Desk(repo=FakeRepository(work=work), clock=SetClock(datetime(2026, 3, 2, tzinfo=UTC)))
    seen = []
    verify(desk, parse_named("77"), None, lambda *said: seen.append(said))
    assert seen == [("operations", 0, 2), ("operations", 1, 2)]
