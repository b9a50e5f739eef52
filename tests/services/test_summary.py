import io
import json
from datetime import UTC, datetime

import pytest
from rich.console import Console

from tests.fakes.repository import FakeRepository, desk_at
from tracker.errors import BadCall, CouldNot
from tracker.records.shop import Machine
from tracker.reports.summary import MOST_SHOWN, as_json, plain, print_text
from tracker.services.checkin import check_in
from tracker.services.effect import guarded, plain_effect
from tracker.services.naming import parse_named
from tracker.services.summary import setting_of, summary_of_file, summary_of_operation

NOW = datetime(2026, 2, 2, 9, tzinfo=UTC)
SHOP = """format = 1
[shop]
name = "Test shop"
[[people]]
initials = "np"
name = "N"
email = "np@shop.example"
roles = ["programmer"]
[[machines]]
id = "MILL2"
type = "mill"
units = "mm"
decimal = "increment"
max_rpm = 900
resident = [9001]
[[machines]]
id = "MILL3"
type = "mill"
units = "mm"
decimal = "calculator"
[[machines]]
id = "LATHE1"
type = "lathe"
units = "mm"
"""
JOB = (
    'format = 1\n[job]\nnumber = "77"\n[[operations]]\nid = "op10"\nprogram = "O1.nc"\nmachines = ["MILL2"]\n'
)
MAIN = (
    "O1\nG90\nT1 M6 (DRILL)\nG0 X0. Y0. S1200 M3\nG43 H1 Z5.\nG1 Z-1000 F60.\nM98 P2 L2\nG65 P9001\nM0\nG4 P500\n"
    "G10 L2 P1 X0.\nM30\n"
)
TOOL_KEYS = "tool description h d offsets rpm_max feed_max x y z deepest_cut cutting_length rapid_length cutting_minutes"
KEYS = ["units", "tools", "cutting_length", "rapid_length", "cutting_minutes", "not_followed"]


@pytest.fixture
def desk():
    repo = FakeRepository()
    repo.save({"shop.toml": SHOP})
    repo.write("jobs/77/job.toml", JOB)
    repo.write("jobs/77/O1.nc", MAIN)
    repo.write("common/O2.nc", "O2\nG91 G1 X3. F60.\nG90\nM99\n")
    made = desk_at(repo, NOW, "np@shop.example")
    check_in(made, [parse_named("77")], by="np", reason="first")
    return made


def told(desk, name, machine=None):
    return summary_of_operation(desk, parse_named(name), machine)


def shown(report, width=80):
    out = io.StringIO()
    print_text(report, Console(file=out, width=width, markup=False))
    return out.getvalue()


def test_an_operation_knows_its_machine_and_what_it_calls(desk):
    report = told(desk, "77")
    (tool,) = report.summary.tools
    assert (report.file, report.of, report.machine) == ("O1.nc", "77/op10", "MILL2")
    assert report.summary.units == "mm"
    assert tool.deepest_cut == -1  # 1000 increments of 0.001 mm
    assert tool.x == (0, 6)  # two calls of 3 mm each
    assert tool.rpm_max == 900  # the machine goes no faster than this
    assert report.summary.lathe is False
    assert [text for text in report.summary.not_followed if "P9001" in text] != []


def test_another_machine_may_be_asked(desk):
    assert told(desk, "77/op10", "MILL3").summary.tools[0].deepest_cut == -1000


def test_the_text_in_hand_and_the_recorded_one(desk):
    desk.repo.write("jobs/77/O1.nc", MAIN.replace("Z-1000", "Z-2000"))
    assert told(desk, "77").summary.tools[0].deepest_cut == -2
    assert told(desk, "77@r1").summary.tools[0].deepest_cut == -1
    assert told(desk, "77@r1").of == "77/op10@r1"


@pytest.mark.parametrize(
    ("name", "machine", "error"),
    [
        ("78", None, "unknown-job"),
        ("77/op20", None, "unknown-operation"),
        ("77@r9", None, "unknown-revision"),
        ("77", "MILL9", "unknown-machine"),
    ],
)
def test_names_nothing_answers_to(desk, name, machine, error):
    with pytest.raises(BadCall) as caught:
        told(desk, name, machine)
    assert caught.value.name == error


def test_a_recorded_program_that_is_gone(desk, monkeypatch):
    tree = desk.repo.tree
    monkeypatch.setattr(desk.repo, "tree", lambda commit=None: Gone(tree(commit)) if commit else tree())
    with pytest.raises(CouldNot) as caught:
        told(desk, "77@r1")
    assert caught.value.name == "damaged"


class Gone:
    """A tree whose programs cannot be read."""

    def __init__(self, tree):
        self.tree = tree

    def read(self, path):
        return None if path.endswith(".nc") else self.tree.read(path)

    def job(self, path):
        return self.tree.job(path)


def test_machines_that_differ_say_only_what_they_share():
    mill, lathe = (
        Machine(id=kind, type=kind, units="mm", decimal=decimal, max_rpm=9.0)
        for kind, decimal in (("mill", "calculator"), ("lathe", None))
    )
    setting = setting_of([mill, lathe], {})
    assert (setting.lathe, setting.units, setting.decimal, setting.max_rpm) == (None, "mm", None, 9)
    assert setting_of([], {}).units is None


def test_the_form_scripts_rely_on(desk):
    data = as_json(told(desk, "77"))
    assert list(data)[: len(KEYS)] == KEYS
    (tool,) = data["tools"]
    assert list(tool)[:14] == TOOL_KEYS.split()
    assert (tool["tool"], tool["description"], tool["h"], tool["d"]) == ("1", "DRILL", [1], [])
    assert (tool["z"], tool["y"]) == ([-1.0, 5.0], [0.0, 0.0])
    assert data["calls"] == [{"program": 2, "times": 2}, {"program": 9001, "times": 1}]
    assert data["stops"] == [{"line": 9, "word": "M0"}]
    assert data["offsets_written"] == [{"line": 11, "text": "G10 L2 P1 X0."}]
    json.dumps(data)


def test_figures_of_json_have_six_digits_and_no_minus_nothing():
    report = summary_of_file("a.nc", b"G21 G90 G0 X0. Y0. Z0.\nG1 X-0.0000001 Y0.3333333333 F7.\n")
    (tool,) = as_json(report)["tools"]
    assert tool["y"] == [0.0, 0.333333]
    assert str(tool["x"][0]) == "0.0"


def test_the_table(desk):
    text = shown(told(desk, "77"))
    lines = text.splitlines()
    assert lines[0] == "O1.nc of 77/op10 (id E27CEF28) on MILL2: mill program, mm"
    assert lines[1].split() == ["tool", "deepest", "speed", "feed", "cut", "rapid", "min", "used"]
    assert lines[2].split() == ["T1", "-1", "900", "60", "12", "0", "0.20", "H1"]
    assert "DRILL; X 0 to 6, Y 0, Z -1 to 5; line 3" in text
    assert "Cut at least 12 mm" in text
    assert "Calls: O2 x2, O9001 x1." in text
    assert "Stops: M0 at line 9." in text
    assert "Writes offsets: G10 L2 P1 X0. at line 11." in text
    assert "not followed: " in text
    assert "Minutes: at 100 %, without tool changes and rapids." in text
    assert "A start in the middle is only as good as its block" in text
    assert all(len(line) <= 80 for line in lines)


def test_a_lathe_shows_offsets():
    report = summary_of_file("p.nc", b"G21 G99\nT0101\nG97 S500 M3\nG0 X20. Z1.\nG1 Z-5. F0.1\nM30\n")
    assert "lathe program" in shown(report)
    assert "offset 1" in shown(report)
    assert "note: read as a lathe program, as its words suggest" in shown(report)


def test_a_file_without_anything_to_tell():
    text = shown(summary_of_file("a.nc", b""))
    assert "a.nc: mill program, units not stated" in text
    assert "Cut 0, - min" in text


def test_many_things_not_followed_are_cut_short():
    rows = "".join(f"G150 P{at}\n" for at in range(60))
    text = shown(summary_of_file("a.nc", f"G20 G90\n{rows}M30\n".encode()))
    assert text.count("not followed: ") == MOST_SHOWN
    assert "... and 40 more not followed; --json lists them" in text


def test_control_characters_do_not_reach_the_screen():
    report = summary_of_file("a.nc", b"G20\nT1 M6 (\x1b[2J DRILL)\nG0 X1.\nM30\n")
    assert "\x1b" not in shown(report)


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "0"), (-0.00001, "0"), (1.5, "1.5"), (12.0, "12"), (-3.25, "-3.25")]
)
def test_plain_figures(value, text):
    assert plain(value, 3) == text


# Effect

OLD = b"G20 G90\nT1 M6\nG0 X0. Y0. Z1.\nG1 Z-1. F10.\nM30\n"


def test_the_effect_of_a_depth():
    found = plain_effect("a.nc", OLD, OLD.replace(b"Z-1.", b"Z-1.5"))
    assert found.differs
    assert (found.old.tools[0].deepest_cut, found.new.tools[0].deepest_cut) == (-1, -1.5)


@pytest.mark.parametrize(
    "change", [(b"M30", b"M0\nM30"), (b"T1 M6", b"(A)\nT1 M6"), (b"G20 G90", b"N1 G20 G90")]
)
def test_the_effect_of_what_moves_nothing(change):
    assert not plain_effect("a.nc", OLD, OLD.replace(*change)).differs


def test_other_is_added_where_the_kinds_do_not_explain_the_effect():
    from tracker.nc.compare_change import Comparison

    quiet = Comparison(same_code=False, kinds=("stop",))
    assert guarded(quiet, OLD, OLD.replace(b"M30", b"M0\nM30")).kinds == ("stop",)
    assert guarded(quiet, OLD, OLD.replace(b"Z-1.", b"Z-2.")).kinds == ("other", "stop")
