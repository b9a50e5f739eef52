import pytest

from tests.fakes.floor import FULL, JOB, JOB_PATH, PROGRAM, SHOP, TEXT, Floor, done
from tracker.errors import BadCall, CouldNot
from tracker.services.hold import hold
from tracker.services.naming import parse_named
from tracker.services.prove import Answers, begin, finish
from tracker.services.prove_steps import REQUIRED_FULL, STEPS
from tracker.services.sheet import sheet
from tracker.services.strike import strike

ACCEPT = Answers(result="accepted", steps=done(*FULL), first_piece="report 2231")
LATHE = '[[machines]]\nid = "LATHE1"\ntype = "lathe"\nunits = "mm"\n'
TURNED = (
    "O2101\nG21 G18 G99\nT0101\nG50 S2500\nG96 S180 M3\nG0 X40. Z2.\nG1 Z-30. F0.2\nG0 X60. Z50.\n"
    "T0303\nG97 S500 M3\nG0 X42. Z-35.\nG1 X0. F0.05\nM30\n"
)
TURNED_JOB = (
    '[job]\nnumber = "4471"\n[[operations]]\nid = "op10"\nprogram = "op10/O1001.nc"\nmachines = ["LATHE1"]\n'
    'units = "mm"\n[[operations.tools]]\nnumber = 1\nstick_out = 30.0\nnose_radius = 0.8\n'
    "[[operations.tools]]\nnumber = 3\nstick_out = 25.0\noffset = 13\n"
)


def asked(floor, name="4471/op10", machine="MILL2"):
    return sheet(floor.desk(), parse_named(name), machine)


def prove(floor, machine="MILL2", **more):
    return finish(
        floor.desk(), begin(floor.desk(), parse_named("4471"), machine=machine, by="ss", **more), ACCEPT
    )


def job(*, operation="", tools=""):
    """The job with more keys of its operation and with tools of its own in place of T3."""
    text = JOB.replace('units = "inch"\n', f'units = "inch"\n{operation}')
    return text.replace("[[operations.tools]]\nnumber = 3\nstick_out = 1.25\n", tools) if tools else text


def tool(report, number):
    return next(one for one in report.tools if one.number == number)


def test_an_unproven_revision_gets_every_step_of_the_prove_out():
    report = asked(Floor())
    assert (report.name, report.label, report.machine.id) == ("4471/op10", "r1", "MILL2")
    assert report.display_id == report.record.operation_fingerprint[:8].upper()
    assert (report.standing.state, report.release, report.since) == ("unproven", None, None)
    assert [one.key for one in report.steps.steps] == [f"P{number}" for number in range(16)]
    assert [one.what for one in report.steps.steps[:14]] == [rule.what for rule in STEPS]
    wanted = {one.key for one in report.steps.steps if one.required}
    assert wanted == {*REQUIRED_FULL, "P14", "P15"}
    assert next(one.tools for one in report.steps.steps if one.key == "P8") == ("T3", "T4", "T5")


def test_a_proven_one_gets_the_short_list():
    floor = Floor()
    prove(floor)
    report = asked(floor)
    assert report.standing.state == "proven"
    assert [one.key for one in report.steps.steps] == ["P0", "P1", "P2", "P3", "P4", "P5"]
    assert report.since is not None
    assert (report.since.itself, report.since.by, report.since.revision) == (True, "ss", "r1")


def test_what_changed_since_the_last_proof_there():
    floor = Floor()
    prove(floor)
    floor.edit("Z-1.16", "Z-1.2")
    floor.edit("stick_out = 2.5", "stick_out = 2.6", path=JOB_PATH)
    report = asked(floor)
    assert report.since is not None
    assert (report.since.revision, report.since.kinds) == ("r1", ("motion", "sheet-tool"))
    assert report.since.tools == ("4", "5")  # T5 starts where T4 left off
    assert report.since.words == ("T4 stick out: was 2.5, is 2.6",)
    assert len(report.steps.steps) == 16
    assert asked(floor, "4471/op10@r1").since.itself
    assert asked(floor, "4471/op10@r1").notes == ("This is not the newest revision: r3",)


def test_a_proof_of_another_machine_is_not_the_last_proof_here():
    both = JOB.replace('["MILL2"]', '["MILL2", "MILL3"]')
    floor = Floor(job=both)
    prove(floor)
    assert asked(floor, machine="MILL3").since is None


def test_a_carried_one_is_a_first_run_for_its_tools():
    floor = Floor()
    prove(floor)
    floor.edit("Z-0.81", "Z-0.82")
    finish(
        floor.desk(),
        begin(floor.desk(), parse_named("4471"), machine="MILL2", by="ss", tools=["5"]),
        ACCEPT,
    )
    report = asked(floor)
    assert report.standing.state == "carried"
    assert [one.key for one in report.steps.steps] == ["P0", "P1", "P2", "P3", "P4", "P5", "P8", "P9"]
    assert report.steps.steps[6].tools == ("T5",)
    assert "a first run for T5" in report.steps.title


def test_a_held_one_gets_no_list():
    floor = Floor()
    hold(floor.desk(), parse_named("4471/op10"), by="dg", reason="gauge out")
    report = asked(floor)
    assert (report.standing.state, report.steps.kind, report.steps.steps) == ("held", "none", ())


def test_figures_of_a_tool():
    report = asked(Floor(job=job(operation="stock = { top = 0.05 }\n")))
    drill = tool(report, 4)
    assert (drill.h, drill.d, drill.offset, drill.stick_out) == (4, None, None, 2.5)
    assert (drill.deepest.value, drill.deepest.bound) == (-1.16, "")
    assert drill.left.value == pytest.approx(2.5 - 1.16 - 0.05)
    assert drill.restarts == ((10, "N80"),)
    assert [one.name for one in report.tools] == ["T3", "T4", "T5"]


def test_what_was_not_followed_makes_it_at_least():
    report = asked(Floor(text=TEXT.replace("N160 G81", "N155 G150 P3\nN160 G81")))
    drill = tool(report, 4)
    assert (drill.deepest.bound, drill.left.bound) == ("at least", "at most")
    assert drill.d == 4  # it may be used where nothing was followed


@pytest.mark.parametrize(
    ("tools", "number", "said"),
    [
        ("[[operations.tools]]\nnumber = 3\nh = 13\n", 3, ("THE PROGRAM USES H3",)),
        ("[[operations.tools]]\nnumber = 9\n", 3, ("NOT ON THE SHEET",)),
        ("[[operations.tools]]\nnumber = 9\n", 9, ()),
    ],
)
def test_sheet_and_program_that_do_not_agree(tools, number, said):
    found = tool(asked(Floor(job=job(tools=tools))), number)
    assert found.disagreements == said
    assert found.on_sheet == (said != ("NOT ON THE SHEET",))
    if number == 9:
        assert (found.called, found.deepest.why, found.left.why) == (
            (),
            "not in the program",
            "not in the program",
        )


def test_d_is_entered_where_it_is_used_or_stated():
    text = TEXT.replace("N60 X2.", "N60 G41 D3 X2.")
    assert tool(asked(Floor(text=text)), 3).d == 3
    stated = "[[operations.tools]]\nnumber = 3\nd = 23\n"
    assert tool(asked(Floor(job=job(tools=stated))), 3).d == 23
    both = tool(asked(Floor(text=text, job=job(tools=stated))), 3)
    assert both.disagreements == ("THE PROGRAM USES D3",)


def test_a_stick_out_that_is_not_stated():
    found = tool(asked(Floor(job=job(tools="[[operations.tools]]\nnumber = 3\n"))), 3)
    assert (found.deepest.value, found.left.value, found.left.why) == (
        -0.5,
        None,
        "no stick-out on the sheet",
    )


def test_a_program_in_other_units_than_the_sheet():
    found = tool(asked(Floor(text=TEXT.replace("G20", "G21"))), 4)
    assert found.deepest.value is None
    assert found.deepest.why == found.left.why == "the program is in mm, the sheet in inch"


@pytest.mark.parametrize(
    ("key", "diameter", "large"),
    [("large = true\n", 0.5, True), ("", 3.2, True), ("", 3.15, False), ("", 0.5, False)],
)
def test_a_large_tool_by_word_or_by_the_machine_s_limit(key, diameter, large):
    shop = SHOP.replace("pockets = 20\n", "pockets = 20\nlarge_tool_over = 3.15\n")
    tools = f"[[operations.tools]]\nnumber = 3\ndiameter = {diameter}\n{key}"
    assert tool(asked(Floor(shop=shop, job=job(tools=tools))), 3).large is large


def test_the_limit_in_other_units_than_the_sheet():
    shop = SHOP.replace('units = "inch"\npockets = 20\n', 'units = "mm"\nlarge_tool_over = 80\n')
    tools = "[[operations.tools]]\nnumber = 3\ndiameter = 3.2\n"
    assert tool(asked(Floor(shop=shop, job=job(tools=tools))), 3).large


def test_a_lathe():
    report = asked(Floor(shop=SHOP + LATHE, job=TURNED_JOB, text=TURNED), machine="LATHE1")
    rough, part_off = report.tools
    assert (rough.name, rough.number, rough.h, rough.d, rough.offset) == ("T0101", 1, None, None, 1)
    assert (rough.deepest.value, rough.left.why) == (-30, "on a lathe Z runs along the bar")
    assert (part_off.offset, part_off.disagreements) == (13, ("THE PROGRAM USES OFFSET 3",))
    assert next(one.tools for one in report.steps.steps if one.key == "P8") == ("T0101", "T0303")


def test_every_tool_change_is_a_place_to_start_again():
    text = TEXT.replace("N180 M30", "N172 T3 M6\nN174 G1 X3. F9.\nN180 M30")
    assert tool(asked(Floor(text=text)), 3).restarts == ((4, "N20"), (20, "N172"))


def test_a_tool_change_in_a_called_program_has_no_line_here():
    floor = Floor(text=TEXT.replace("N130 T5 M6", "N130 M98 P1002"))
    floor.check_in(by="np", files={"common/O1002.nc": "O1002\nT5 M6\nM99\n"})
    found = tool(asked(floor), 5)
    assert (found.called, found.restarts) == (("5",), ())


@pytest.mark.parametrize(
    ("machine", "error"),
    [
        ("MILL3", "not-its-machine"),
        ("LATHE1", "wrong-kind-of-machine"),
        ("MILL9", "unknown-machine"),
        (None, "which-machine"),
    ],
)
def test_another_machine(machine, error):
    with pytest.raises(BadCall) as caught:
        asked(Floor(shop=SHOP + LATHE), machine=machine)
    assert caught.value.name == error
    assert "MILL2" in f"{caught.value.what} {caught.value.fix}"


def test_where_no_machine_is_named_the_text_says_which_kind():
    none = JOB.replace('machines = ["MILL2"]\n', "")
    floor = Floor(shop=SHOP + LATHE, job=none)
    assert asked(floor).notes == (
        "job.toml names no machine for op10; printed for MILL2 because it was asked for",
    )
    with pytest.raises(BadCall) as caught:
        asked(floor, machine="LATHE1")
    assert (caught.value.name, caught.value.what) == (
        "wrong-kind-of-machine",
        "LATHE1 is a lathe, and 4471/op10 is for a mill",
    )


@pytest.mark.parametrize(
    ("name", "error"),
    [("4472", "unknown-job"), ("4471/op30", "unknown-operation"), ("4471@r9", "unknown-revision")],
)
def test_names_nothing_answers_to(name, error):
    with pytest.raises(BadCall) as caught:
        asked(Floor(), name)
    assert caught.value.name == error


def test_edits_in_the_working_folder_are_not_on_the_sheet_and_said():
    floor = Floor()
    floor.repo.write(PROGRAM, TEXT.replace("Z-1.16", "Z-1.9"))
    report = asked(floor)
    assert tool(report, 4).deepest.value == -1.16
    assert report.notes == (
        f"In the working folder 1 file of it ({PROGRAM}) changed since and is not on this sheet: check it in first",
    )


def test_a_detached_head():
    floor = Floor()
    floor.repo.detach()
    assert asked(floor).label == "r1"


def test_a_revision_that_cannot_be_read_back(monkeypatch):
    floor = Floor()
    tree = floor.repo.tree
    monkeypatch.setattr(floor.repo, "tree", lambda commit=None: Gone(tree(commit)) if commit else tree())
    with pytest.raises(CouldNot) as caught:
        asked(floor)
    assert (caught.value.name, caught.value.where) == ("damaged", PROGRAM)


class Gone:
    """A tree whose programs cannot be read."""

    def __init__(self, tree):
        self.tree = tree

    def read(self, path):
        return None if path.endswith(".nc") else self.tree.read(path)

    def job(self, path):
        return self.tree.job(path)


def test_what_was_proved_and_cannot_be_read_back_any_more(monkeypatch):
    floor = Floor()
    prove(floor)
    floor.edit("Z-1.16", "Z-1.2")
    proved = next(one.commit for one in floor.repo.ledger().records if one.record.EVENT == "revision")
    tree = floor.repo.tree
    monkeypatch.setattr(
        floor.repo, "tree", lambda commit=None: Gone(tree(commit)) if commit == proved else tree(commit)
    )
    report = asked(floor)
    assert report.since is not None
    assert (report.since.why, report.since.tools) == ("what was proved cannot be read back", None)


def test_a_struck_proof_is_none():
    floor = Floor()
    path = prove(floor).path
    strike(floor.desk(), path, by="ss", reason="wrong machine")
    report = asked(floor)
    assert (report.standing.state, report.since) == ("unproven", None)


def test_a_binary_program_has_no_figures():
    floor = Floor()
    floor.repo.write(PROGRAM, bytes(range(256)) * 4)
    floor.check_in(by="np")
    report = asked(floor)
    assert report.summary.not_followed
    assert next(one.tools for one in report.steps.steps if one.key == "P8") == ("T3", "T4", "T5")
    assert [one.deepest.why for one in report.tools] == ["not met in the program"] * 3
