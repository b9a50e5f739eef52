"""Edges of the rules: what else trips them, and what looks like a fault and is none."""

from dataclasses import replace

import pytest

from tests.checks.subjects import subject
from tracker.checks.check import check
from tracker.checks.examples import INCREMENT, MILL, MILLING, SHEET, UMBRELLA, edited
from tracker.checks.examples_turning import LATHE as TURNED_LATHE
from tracker.checks.examples_turning import TURNING as TURNED
from tracker.checks.examples_turning import TURNING_SHEET as TURNED_SHEET
from tracker.records.job import Offset, Stock, Tool
from tracker.records.shop import Checks, Machine

LATHE = Machine(id="LATHE1", type="lathe", units="mm", changer="turret", max_rpm=4000, chuck_max_rpm=2500)
TURNING = """\
%
O1001
G21
G0 G18 G40 G80 G99
T0101
G54 X150. Z100.
G97 S1000 M3
G0 X46. Z5. M8
G1 Z0. F0.2
X-1.
G0 X150. Z100. M9
M5
M30
%
"""
TURN_SHEET = replace(SHEET, units="mm", clearance_z=2.0, machines=("LATHE1",), tools=SHEET.tools[:1])


def rules(text: str, *, sheet=SHEET, machine=MILL, called=None, checks=None) -> list[str]:
    return sorted(
        one.rule
        for one in check(subject(text, sheet=sheet, machine=machine, called=called, checks=checks)).findings
    )


LENGTH = "G43 H2 Z1. M8"


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ([(LENGTH, "G43 Z1. M8")], ["no-length-offset"]),
        ([(LENGTH, "G43 H0 Z1. M8")], ["no-length-offset"]),
        ([(LENGTH, "G43 H2 Z1. M8\nG49\nZ0.9")], ["no-length-offset"]),
        ([(LENGTH, "H2 Z1. M8")], ["no-length-offset"]),
        ([(LENGTH, "G44 H2 Z1. M8")], []),
        ([(LENGTH, "G43.4 H2 Z1. M8")], []),
        ([(LENGTH, "G53 G0 Z0.\nG43 H2 Z1. M8")], []),
        ([(LENGTH, "G91 Z-1.\nG90\nG43 H2 Z1. M8")], []),
        ([("T2 M6\nT1\n", "T2 M6 G43 H2\nT1\n"), (LENGTH, "Z1. M8")], []),
        ([(LENGTH, "M8\nG43 H2")], []),
        ([(LENGTH, "M8")], ["no-length-offset"]),
        ([(LENGTH, "G43 H2 Z1. M8\nH3")], ["h-not-tool"]),
        ([("G41 D1", "G41 D0")], ["d-not-tool"]),
        ([("G41 D1", "D1 G42")], []),
        ([("G41 D1", "G42 D11")], ["d-not-tool"]),
        ([("G41 D1", "G41")], ["d-not-tool"]),
        ([("G43 H1", "G43 H1 D1"), ("G41 D1", "G41")], []),
        ([("G43 H1", "G43 H1 D2"), ("G41 D1", "G41")], ["d-not-tool"]),
        ([("G41 D1", "G41"), ("Z0.15\n", "Z0.15\nD1\n")], []),
        ([("G41 D1", "G41"), ("Z0.15\n", "G10 L12 P1 D1 R0.25\nZ0.15\n")], ["d-not-tool", "writes-offsets"]),
    ],
)
def test_length_and_radius(changes, wanted):
    assert rules(edited(*changes)) == wanted


def test_a_d_beside_g43_is_the_one_g41_takes():
    """D stays in force like H (macro-type controls, from memory): the second tool does not cut with the first one's."""
    text = edited(
        ("G43 H2", "G43 H2 D2"),
        ("G98 G81 X1. Y1. Z-0.5 R0.1 F12.\nX2.\nG80", "G1 Z-0.1 F20.\nG41 X2. F10.\nY2.\nG40 X3."),
    )
    assert rules(text) == []
    assert rules(text.replace("H2 D2", "H2")) == ["d-not-tool"]


def test_the_sheet_may_give_other_offsets():
    tools = (Tool(number=1, d=21), Tool(number=2, h=32))
    text = edited((LENGTH, "G43 H32 Z1. M8"), ("G41 D1", "G41 D21"))
    assert rules(text, sheet=replace(SHEET, tools=tools)) == []
    assert rules(MILLING, sheet=replace(SHEET, tools=tools)) == ["d-not-tool", "h-not-tool"]


HOME = "M5\nG91 G28 Z0.\nG28 Y0.\nG90\nM30"


@pytest.mark.parametrize(
    ("new", "wanted"),
    [
        ("M5\nG28 G91 Z0.\nG28 Y0.\nG90\nM30", []),
        ("M5\nG91 G28 Z0. M5\nG28 X0. Y0.\nM30", []),
        ("M5\nG91 G28 X0. Y0. Z0.\nM30", []),
        ("M5\nG90 G53 G0 Z0.\nG53 X-15. Y0.\nM30", []),
        ("M5\nG53 G0 Z0.\nG53 Y0.\nM30", []),
        ("M5\nG91 G30 P2 Z0.\nM30", []),
        ("M5\nG91 G28 Z0.\nG53 G0 Y0.\nM30", ["g53-in-g91"]),
        ("M5\nG91 G28 Z0.\nG90 G53 G0 Y0.\nM30", []),
        ("M5\nG91\nG28 Z0.\nM30", []),
        ("M5\nG28 Z1.\nM30", ["home-by-work-point"]),
        ("M5\nG53 G0 X-15. Y0.\nG53 Z0.\nM30", ["home-before-z"]),
        ("M5\nG91 G28 Y0.\nM30", ["end-not-home", "home-before-z"]),
        ("M5\nM30", ["end-not-home"]),
        ("M5\nG28\nM30", ["home-all-axes"]),
    ],
)
def test_going_home(new, wanted):
    assert rules(edited((HOME, new))) == wanted


def test_a_tool_change_at_the_end_takes_z_up():
    assert rules(edited((HOME, "M5\nT1 M6\nM30"))) == []


NEXT = "G91 G28 Z0.\nG90\n(NO"


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ([(NEXT, "G91 G28 Z0.\n(NO")], []),
        (
            [(NEXT, "G91 G28 Z0.\n(NO"), ("G80 G90 G54 X1.", "G80 G54 X1."), (LENGTH, "G90 " + LENGTH)],
            ["g91-left-on"],
        ),
        ([(NEXT, "G91 G28 Z0.\nG0 Z-1.\nG90\n(NO")], ["g91-left-on"]),
        ([(NEXT, "G91 G28 Z0.\nG91 G0 X1.\nG90\n(NO")], []),
        ([("X2.\nY2.\nG40", "G91\nX3.\nG90\nY2.\nG40")], []),
    ],
)
def test_g91_that_stays(changes, wanted):
    assert [one for one in rules(edited(*changes)) if one == "g91-left-on"] == wanted


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ([("S3000 M3", "S3000 M13"), ("H1 Z1. M8", "H1 Z1.")], []),
        ([("S3000 M3", "S3000 M4")], []),
        ([("S3000 M3", "M3 S0")], ["no-speed"]),
        ([("S4000 M3", "M3")], ["safe-start"]),
        ([("S4000 M3", "S6001 M3")], ["speed-over-limit"]),
        ([("S4000 M3", "S6000 M3")], []),
        ([("G1 Z-0.1", "M5\nG1 Z-0.1")], ["no-spindle"]),
        ([("G1 Z-0.1", "M5\nG38.2 Z-0.1 F5.\nM3\nG1 Z-0.1")], []),
        ([("S4000 M3", "M29 S400"), ("G98 G81", "G98 G84")], []),
        ([("S4000 M3", "S400"), ("G98 G81", "G98 G84")], []),  # not computed: see the tapping cycle below
        ([("S4000 M3", ""), ("G98 G81", "G98 G84")], ["no-spindle", "safe-start"]),
    ],
)
def test_spindle(changes, wanted):
    assert rules(edited(*changes)) == wanted


@pytest.mark.parametrize(
    ("sheet", "machine", "wanted"),
    [
        (replace(SHEET, max_rpm=None), replace(MILL, max_rpm=3999), ["speed-over-limit"]),
        (replace(SHEET, max_rpm=3999), replace(MILL, max_rpm=None), ["speed-over-limit"]),
        (replace(SHEET, max_rpm=4000), replace(MILL, max_rpm=4000), []),
    ],
)
def test_the_least_limit_counts(sheet, machine, wanted):
    assert rules(MILLING, sheet=sheet, machine=machine) == wanted


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ("S1000 M3", "S3000 M3", ["speed-over-limit"]),
        ("G97 S1000 M3", "G50 S2500\nG96 S180 M3", []),
        ("M5\nM30", "M5\nG98 G1 Z-10. F200.\nM30", []),
        ("S1000 M3", "S1000", ["no-spindle"]),
        ("G54 X150.", "X150.", ["no-work-offset"]),
    ],
)
def test_rules_for_both_kinds_on_a_lathe(old, new, wanted):
    assert rules(TURNING, sheet=TURN_SHEET, machine=LATHE) == []
    assert rules(edited((old, new), text=TURNING), sheet=TURN_SHEET, machine=LATHE) == wanted


def test_a_lathe_whose_sheet_names_no_offset_is_not_told_off():
    text = edited(("G54 X150.", "X150."), text=TURNING)
    result = check(subject(text, sheet=replace(TURN_SHEET, offsets=()), machine=LATHE))
    assert result.findings == ()
    assert {"no-work-offset", "offset-not-on-sheet"} <= {one.rule for one in result.not_computed}


def test_without_a_machine_the_words_say_what_it_is():
    result = check(
        subject(TURNING.replace("G97 S1000", "G50 S2000\nG97 S1000"), sheet=TURN_SHEET, machine=None)
    )
    assert "h-not-tool" not in result.checks
    assert result.findings == ()
    assert "h-not-tool" in check(subject(MILLING, machine=None)).checks


@pytest.mark.parametrize(
    ("changes", "machine", "wanted"),
    [
        ([("X2.\nG80", "X2\nG80")], MILL, ["bare-number"]),
        ([("X2.\nG80", "X2\nG80")], replace(MILL, decimal=None), ["bare-number"]),
        ([("X2.\nG80", "X2\nG80")], INCREMENT, ["bare-number"]),
        ([("X2.\nG80", "X0\nG80")], INCREMENT, []),
        ([("X2.\nG80", "X2.\nG4 X2\nG80")], INCREMENT, []),
        ([("G98 G81", "G98 G82 P500")], INCREMENT, []),
        ([("X2.\nG80", "X2. K3\nG80")], INCREMENT, ["bare-number"]),
        ([("R0.1 F12.", "R0.1 F12. K3")], INCREMENT, []),
        ([("X2.\nG80", "X2.\nA90\nG80")], MILL, []),
        ([("X2.\nG80", "X2.\n(X2)\nG80")], MILL, []),
        ([(".", "")], MILL, ["bare-number"]),
    ],
)
def test_lengths_without_a_point(changes, machine, wanted):
    assert rules(edited(*changes), machine=machine) == wanted


def test_a_program_that_is_bare_throughout_is_its_own_habit():
    text = (
        MILLING.replace("X-1. Y1.", "X-1 Y1").replace("X2.", "X2").replace("Y2.", "Y2").replace("X3.", "X3")
    )
    assert rules(text) == []
    result = check(subject(text, machine=replace(MILL, decimal=None)))
    assert "bare-number" in {one.rule for one in result.not_computed}
    assert set(rules(text, machine=INCREMENT)) == {"bare-number", "comp-lead-in-short"}
    assert rules(edited(("X2.\nG80", "X2\nG80")), checks=Checks(points_percent=99)) == []


@pytest.mark.parametrize(
    ("changes", "machine", "wanted"),
    [
        ([("T2 M6\nT1\n", "T2 M6\n")], MILL, ["no-precall"]),
        ([("T2 M6\nT1\n", "T2 M6\nT5\n")], MILL, ["precall-wrong"]),
        ([("T1 M6\nT2\n", "T1 M6\n")], UMBRELLA, ["precall-on-umbrella"]),
        ([("T1 M6\nT2\n", "T1 M6\n")], replace(MILL, changer="manual"), []),
        (
            [("T1 M6\nT2\n", "T1 M6\n"), ("T2 M6\n", "M6\n")],
            MILL,
            ["change-without-tool", "h-not-tool", "sheet-tool-unused"],
        ),
        ([("T2 M6\nT1\n", "T2\nM6\nT1\n")], MILL, []),
        ([("T2 M6\nT1\n", "M6\nT1\n")], MILL, []),
    ],
)
def test_tool_change(changes, machine, wanted):
    assert rules(edited(*changes), machine=machine) == wanted


def test_a_text_without_any_m6_changes_by_t():
    text = MILLING.replace("T1 M6\nT2\n", "T1\n").replace("T2 M6\nT1\n", "T2\n")
    assert rules(text, machine=UMBRELLA) == []


def test_one_tool_needs_no_precall():
    text = MILLING[: MILLING.index("(NO. 7")].replace("T2\n", "") + "M30\n%\n"
    assert rules(text, sheet=replace(SHEET, tools=SHEET.tools[:1])) == []


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ([("Z0.15\n", "X-1.1 Z0.5\nZ0.15\n")], []),
        ([("Z0.15\n", "X-1.1 Z0.49\nZ0.15\n")], ["rapid-down-across"]),
        ([("X3.\nG0 Z1.", "X3.\nG0 X-1. Z1.")], ["rapid-across-low"]),
        ([("Z0.15\n", "Z0.09\n")], []),
        ([("Z0.15\n", "Z0.089\n")], ["rapid-near-part"]),
        ([("X3.\nG0 Z1.", "X3.\nG0 Z0.06\nZ1.")], []),
        ([("G98 G81", "G81 G98")], []),
        ([("G98 G81", "G98\nG81")], []),
        ([("G43 H2 Z1.", "G43 H2 Z0.4")], ["approach-low", "cycle-retract-low"]),
    ],
)
def test_heights(changes, wanted):
    assert rules(edited(*changes)) == wanted


def test_margins_in_mm_for_a_program_in_mm():
    text = edited(("G20", "G21"), ("Z0.15", "Z2.04"), ("H1 Z1.", "H1 Z20."), ("H2 Z1.", "H2 Z20."))
    text = text.replace("G0 Z1.", "G0 Z20.").replace("R0.1", "R2.")
    tools = tuple(replace(one, stick_out=40.0, flute_length=30.0) for one in SHEET.tools)
    sheet = replace(SHEET, units="mm", clearance_z=15.0, stock=Stock(top=1.0), tools=tools)
    assert rules(text, sheet=sheet) == []
    assert rules(text, sheet=sheet, checks=Checks(rapid_gap=1.1)) == ["rapid-near-part"]
    assert rules(text.replace("Z2.04", "Z1.9"), sheet=sheet) == ["rapid-near-part"]


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ([("G98 G81 X1. Y1. Z-0.5 R0.1", "G98 G81 X1. Y1. R0.1")], ["cycle-words-missing"]),
        ([("X2.\nG80", "X2.\nG83 Q0.1\nG80")], []),
        (
            [("G98 G81 X1. Y1. Z-0.5 R0.1", "G91 G98 G81 X0. Y0. Z-0.6 R-0.9"), ("X2.\nG80", "X1.\nG90 G80")],
            [],
        ),
        (
            [("G98 G81 X1. Y1. Z-0.5 R0.1", "G91 G98 G81 X0. Y0. Z0.6 R-0.9"), ("X2.\nG80", "X1.\nG90 G80")],
            ["cycle-z-above-r"],
        ),
        ([("X2.\nG80\n", "X2.\nG0 G80 X2.5\n")], []),
    ],
)
def test_cycles(changes, wanted):
    assert rules(edited(*changes)) == wanted


@pytest.mark.parametrize(
    ("changes", "called", "wanted"),
    [
        ([("M30\n", "M30\nM30\n")], {}, ["code-after-end"]),
        ([("M30\n", "M30\nO1005\nG1 X1.\nM99\n")], {}, []),
        # a program called behind it is no sign that what is left over is reached
        (
            [("X2.\nY2.\n", "M98 P1005\nX2.\nY2.\n"), ("M30\n", "M30\nX3.\nO1005\nX1.\nM99\n")],
            {},
            ["code-after-end"],
        ),
        ([("X2.\nY2.\n", "M98 P1005\nX2.\nY2.\n"), ("M30\n", "M30\nO1005\nX1.\nM99\n")], {}, []),
        ([("M30\n", "/M30\nG4 P1\nM30\n")], {}, []),
        ([("X2.\nY2.\n", "M97 P500\nX2.\nY2.\n"), ("M30\n", "M30\nN500 X1.\nM99\n")], {}, []),
        ([("X2.\nY2.\n", "M98 P1005\nX2.\nY2.\n"), ("M30\n", "M30\nO1005\nX1.\n")], {}, ["called-end"]),
        ([("X2.\nY2.\n", "M98 P1005\nX2.\nY2.\n")], {1005: "O1005\nX1.\nM99\n"}, []),
        ([("X2.\nY2.\n", "M98 P1005\nX2.\nY2.\n")], {1005: "O1005\nX1.\n"}, ["called-end"]),
        ([("X2.\nY2.\n", "M98 P1005\nX2.\nY2.\n")], {1005: "%\nO1005\nX1.\nM99\n"}, ["cut-off"]),
        ([("%\nO1001", "O1001"), ("M30\n%", "M30")], {}, []),
    ],
)
def test_frame(changes, called, wanted):
    assert rules(edited(*changes), called=called) == wanted


def test_bar_work_may_begin_again():
    assert rules(edited(("M30\n", "M99\n")), sheet=replace(SHEET, continuous=True)) == []


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ([("G20\n", "G20\nG20\n")], []),
        ([("X2.\nY2.\n", "G20 X2.\nY2.\n")], []),
        ([("G20\n", ""), ("T1 M6", "G20\nT1 M6")], []),
        ([("G54 X1. Y1. S4000", "G54.1 P3 X1. Y1. S4000")], ["offset-not-on-sheet"]),
        ([("X2.\nY2.\n", "G52 X1.\nX2.\nY2.\nG52 X0.\n")], ["writes-offsets"]),
    ],
)
def test_units_and_offsets(changes, wanted):
    assert rules(edited(*changes)) == wanted


def test_an_extended_offset_of_the_sheet():
    text = MILLING.replace("G54 ", "G54.1 P3 ")
    assert rules(text, sheet=replace(SHEET, offsets=(Offset(code="G54.1 P3"),))) == []


@pytest.mark.parametrize(
    ("comment", "wanted"),
    [
        ("(G1 X1. F10.)", True),
        ("(N100 X1. Y2. F5.)", True),
        ("(T4 M6)", True),
        ("(M98 P1002)", True),
        ("; G0 X1.", True),
        # common practice, no source: a block in a row of a cycle or a contour, commented out with its number
        ("(N150 X2.5)", True),
        ("; n150 z-0.1", True),
        ("(N150 X2.5 CORNER)", False),
        ("(N1 T1 D0.5 Z-0.5)", False),
        ("(N10 G54)", False),
        ("(X0 Y0 LOWER LEFT)", False),
        ("(X0 Y0)", False),
        ("(G54)", False),
        ("(T1 D0.5 CR0)", False),
        ("(T1  D=0.5  ZMIN=-0.5)", False),
        ("(1/2 END MILL)", False),
        ("(M8)", False),
        ("(REV B 2026)", False),
        ("()", False),
    ],
)
def test_code_in_comments(comment, wanted):
    found = rules(edited(("X2.\nY2.\n", f"X2.\n{comment}\nY2.\n")))
    assert found == (["code-in-comment"] if wanted else [])


def test_a_row_of_lines_taken_out_is_told_once():
    text = edited(("X2.\nY2.\n", "X2.\n(G1 X1.)\n(G1 X2.)\n(G1 X3.)\nY2.\n"))
    (one,) = check(subject(text)).findings
    assert "and 2 more after it" in one.message


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("/M8", []),
        ("/X2.", []),
        ("/S3000", ["skip-on-line"]),
        ("/2 G0 Z1.", ["skip-on-line"]),
        ("/M98 P1002", []),
    ],
)
def test_block_skips(line, wanted):
    text = edited(("G40 X3.\n", f"G40 X3.\nG0 Z1.\n{line}\n"))
    assert rules(text, called={1002: "O1002\nM99\n"}) == wanted


def untold(text: str, rule: str, *, sheet=SHEET, machine=MILL) -> list[str]:
    return [
        one.why for one in check(subject(text, sheet=sheet, machine=machine)).not_computed if one.rule == rule
    ]


TOOL_2 = "T2 M6\nT1\nG0 G17 G40 G80 G90 G54 X1. Y1. S4000 M3"


def test_a_tapping_cycle_may_start_the_spindle_itself():
    sheet = replace(SHEET, tools=(SHEET.tools[0], Tool(number=2, description="1/4-20 TAP", stick_out=1.75)))
    text = edited(("S4000 M3", "S500"), ("G98 G81", "G98 G84"), ("F12.", "F25."))
    assert rules(text, sheet=sheet) == []
    assert "some controls start the spindle" in untold(text, "no-spindle", sheet=sheet)[0]
    assert rules(text.replace("S500", ""), sheet=sheet) == ["no-spindle", "safe-start", "tap-feed"]


def test_a_probe_and_a_broach_want_the_spindle_to_stand():
    for word, more in (
        ("TOUCH PROBE", []),
        ("MESSTASTER", []),
        ("KEYWAY BROACH", ["no-coolant"]),
        ("ROTARY BROACH", ["no-coolant", "no-spindle", "safe-start"]),
        ("NO. 7 DRILL", ["no-coolant", "no-spindle", "safe-start"]),
    ):
        tool = Tool(number=2, description=word, stick_out=1.75)
        sheet = replace(SHEET, tools=(SHEET.tools[0], tool))
        text = edited((" S4000 M3", ""), ("Z1. M8\nG98 G81", "Z1.\nG98 G81"))
        assert rules(text, sheet=sheet) == more, word


def test_a_tool_held_by_m19_is_not_told():
    text = edited((" S4000 M3", " M19"))
    assert rules(text) == []
    assert untold(text, "no-spindle") == ["after M19 the spindle may be meant to stand"]


def test_home_before_the_units_where_no_length_is_named():
    assert rules(edited(("G20\n", "G91 G28 Z0.\nG90\nG20\n"))) == []
    assert rules(edited(("G20\n", "G53 G0 Z0.\nG20\n"))) == []
    assert rules(edited(("G20\n", "G53 G0 Z-1.\nG20\n"))) == ["no-units"]


def test_back_boring_goes_up():
    text = edited(("G98 G81 X1. Y1. Z-0.5 R0.1 F12.", "G98 G87 X1. Y1. Z-0.5 R-1.2 Q0.05 F2."))
    assert rules(text) == []


def test_no_magazine_where_tools_are_changed_by_hand():
    machine = replace(MILL, changer="manual", large_tool_over=None)
    assert untold(MILLING, "large-not-marked", machine=machine) == []


def test_a_sentence_in_a_comment_is_no_statement():
    for comment, statement in (
        ("(IF BURRS STAY ABOVE .03, FILE THEM)", False),
        ("(CALL QUALITY AT PIECE 10)", False),
        ("(IF P1 EQ 5 GOTO 10)", True),
        ("(IF #5 > 2)", True),
        ("(CALL 10)", True),
    ):
        text = edited(("(NO. 7 DRILL)", comment))
        assert bool(untold(text, "no-spindle")) is statement, comment
        assert rules(text) == []


def test_what_the_end_takes_off_by_itself_is_asked_before_it():
    assert rules(edited(("X2.\nG80\nG0 Z1. M9", "X2.\nG80\nG0 Z1."))) == ["coolant-left-on"]
    assert rules(edited(("X2.\nG80\nG0 Z1. M9", "X2.\nG80\nG0 Z1."), ("M30", "M9 M30"))) == []
    text = edited(("G80\nG0 Z1. M9\nM5\nG91 G28 Z0.\nG28 Y0.\nG90\n", "G80\nG41 D2 G1 X5.\nG0 Z1. M9\nM5\n"))
    assert rules(text) == ["comp-left-on", "end-not-home"]


def test_coolant_through_the_spindle_ends_with_m89():
    sheet = replace(SHEET, tools=tuple(replace(one, through_coolant=True) for one in SHEET.tools))
    text = edited(("G43 H2 Z1. M8", "G43 H2 Z1. M88"), ("X2.\nG80\nG0 Z1. M9", "X2.\nG80\nG0 Z1. M89"))
    assert rules(text, sheet=sheet) == []
    assert rules(text.replace("M89", ""), sheet=sheet) == ["coolant-left-on"]


@pytest.mark.parametrize(
    ("block", "wanted"),
    [
        ("IF [#500 EQ 1.] GOTO 90", ["label-missing"]),
        ("GOTO90", ["label-missing"]),
        ("M97 P90", ["label-missing"]),
        ("M97 P90 L2", ["label-missing"]),
        ("(GOTO 90)", []),
        ("IF [#500 EQ 1.] GOTO #9", []),
    ],
)
def test_where_a_jump_leads(block, wanted):
    text = edited(("X2.\nG80", f"X2.\n{block}\nG80"))
    assert [one for one in rules(text) if one not in ("uses-variables", "no-end")] == wanted
    named = text.replace("G0 Z1. M9\nM5\nG91 G28 Z0.\nG28", "/N0090 G0 Z1. M9\nM5\nG91 G28 Z0.\nG28")
    assert "label-missing" not in rules(named)


def test_a_driven_tool_has_a_speed_of_its_own():
    driven = TURNING.replace("G97 S1000 M3", "G97 S6000 M133")
    assert "speed-over-limit" not in rules(driven, sheet=TURN_SHEET, machine=LATHE)
    assert untold(driven, "speed-over-limit", sheet=TURN_SHEET, machine=LATHE)
    fast = TURNING.replace("G97 S1000 M3", "G97 S6000 M3 M133")
    assert "speed-over-limit" in rules(fast, sheet=TURN_SHEET, machine=LATHE)
    later = TURNING.replace("G97 S1000 M3", "M5\nM133\nG97 S6000")
    assert untold(later, "speed-over-limit", sheet=TURN_SHEET, machine=LATHE)


def test_offsets_by_g154():
    sheet = replace(SHEET, offsets=(Offset(code="G154 P3"),))
    assert rules(MILLING.replace("G54", "G154 P3"), sheet=sheet) == []
    assert "offset-not-on-sheet" in rules(MILLING.replace("G54", "G154 P4"), sheet=sheet)


ROW = "".join(f"X{1 + at / 1000:.3f}\n" for at in range(100))


@pytest.mark.parametrize("length", [0, 10, len(ROW)])
@pytest.mark.parametrize(
    ("slip", "rule"),
    [("X1.5 F9000.\n", "feed-over-limit"), ("X1.5 F0.\n", "no-feed"), ("X1.5 Y1. F900.\n", None)],
)
def test_a_slip_of_f_in_the_midst_of_plain_cuts_is_found_where_it_stands(slip, rule, length):
    """An F that is right again a line later does not hide it, however long the rows around it are."""
    row = ROW[: ROW.find("\n", length) + 1] if length else ""
    text = edited(("X2.\nY2.", f"{row}{slip}{row}X2. F40.\n{row}Y2."))
    found = check(subject(text)).findings
    assert [(one.rule, one.text) for one in found] == ([(rule, slip.strip())] if rule else [])


def test_a_cut_before_the_first_f_is_found_though_one_follows_in_the_row():
    text = edited(("G1 Z-0.1 F20.\nG41 D1 X0. F40.", "G1\nZ-0.1\nG41 D1 X0. F40."))
    assert rules(text) == ["no-feed"]
    text = edited(("G1 Z-0.1 F20.\nG41 D1 X0. F40.\nX2.", "G1\nZ-0.1\nX2. F40."), ("G40 X3.", "X3."))
    assert [(one.rule, one.text) for one in check(subject(text)).findings] == [("no-feed", "Z-0.1")]


def test_an_f_of_no_stated_way_is_none_under_g95():
    """A mill that says neither reads F per minute (NISTIR 6556 section 3.5.19: after a change F is said again)."""
    text = edited(("G41 D1 X0. F40.", "G95\nG41 D1 X0."))
    assert "no-feed" in rules(text)


TROUGH = "G41 D1 X0. F40.\nX2.\nY2.\nG40 X3."


@pytest.mark.parametrize(
    ("cuts", "wanted"),
    [
        # half a circle of 1.3 in the ZX plane: 1.4 below zero in its midst, its ends at -0.1
        ("G18 X0. F40.\nG2 X2.6 I1.3 K0.\nG17 G1 X3.", ["lowest-z", "stick-out-short", "flute-short"]),
        ("G18 X0. F40.\nG2\nX2.6 I1.3 K0.\nG17 G1 X3.", ["lowest-z", "stick-out-short", "flute-short"]),
        ("G18 X0. F40.\nG3 X2.6 I1.3 K0.\nG17 G1 X3.", []),
        # a whole circle 32 wide, on 30 of travel
        ("X0. F40.\nG2 I16. J0.\nG1 X3.", ["travel-short"]),
        ("X0. F40.\nG2\nI16. J0.\nG1 X3.", ["travel-short"]),
        ("X0. F40.\nG2\n" + "I1. J0.\n" * 80 + "I16. J0.\n" + "I1. J0.\n" * 80 + "G1 X3.", ["travel-short"]),
        ("X0. F40.\nG2 I1. J0.\nG1 X3.", []),
    ],
)
def test_an_arc_reaches_farther_than_its_ends(cuts, wanted):
    found = {
        rule for rule in rules(edited((TROUGH, cuts))) if rule not in ("rapid-across-low", "span-not-stock")
    }
    assert found == set(wanted)


def test_an_arc_of_a_lathe_reaches_the_jaws_with_its_bulge():
    """From X40 Z-72 to X40 Z-74 around X30 Z-73, radius 5.1: one way it ends at its lowest Z, and goes on to Z-78.1 the other.

    The jaws stand at Z-79, with 3 mm to spare.
    """
    after = "G0 X150. Z100. M9\nM5\n(FIN"
    for code, wanted in (("G3", []), ("G2", ["tool-into-jaws"])):
        arc = f"G0 X42. Z-72.\nG1 X40. F0.1\n{code} X40. Z-74. I-5. K-1.\nG1 X42.\n{after}"
        text = edited((after, arc), text=TURNED)
        assert rules(text, sheet=TURNED_SHEET, machine=TURNED_LATHE) == wanted


def test_a_zero_set_where_the_tool_stands_is_listed():
    """G92 X0. makes the place of the tool the zero (NISTIR 6556 section 3.5.18); G52 X0. takes a shift back."""
    for block, wanted in (("G92 X0. Y0.", ["writes-offsets"]), ("G52 X0. Y0.", []), ("G92 S4000", [])):
        assert rules(edited(("G43 H2 Z1. M8", f"G43 H2 Z1. M8\n{block}"))) == wanted, block


def test_an_offset_written_by_way_of_its_variable_is_listed():
    """#5221 is the X of G54, #2001 the offset of tool 1 (common practice, no source; from memory)."""
    for block, wanted in (("#5221=1.", True), ("#2001=-0.01", True), ("#101=1.", False)):
        found = rules(edited(("G43 H2 Z1. M8", f"{block}\nG43 H2 Z1. M8")))
        assert ("writes-offsets" in found) == wanted, block


def test_the_fastest_rapid_is_in_the_units_of_the_program():
    """A sheet may state no units: 900 inches a minute are 22860 mm."""
    text = edited(("G20\n", "G21\n"), ("X0. F40.", "X0. F{}"))
    for feed, wanted in (("22000.", False), ("23000.", True)):
        found = rules(text.format(feed), sheet=replace(SHEET, units=None))
        assert ("feed-over-limit" in found) == wanted


@pytest.mark.parametrize(
    "cut", ["G0 X-6. Z0.\nG1 X46. F0.1", "G0 X-6. Z0.\nG1\nX46. F0.1", "G1 Z0. F0.5\nG0 X-6.\nG1 X46. F0.1"]
)
def test_a_cut_that_begins_past_the_centre_is_past_it(cut):
    """Faced from the middle outwards: the insert starts where the work turns against it."""
    text = edited(("G1 Z0. F0.5\nX-0.8 F0.12", cut), text=TURNED)
    assert rules(text, sheet=TURNED_SHEET, machine=TURNED_LATHE) == ["past-centre"]
    text = text.replace("X-6.", "X-0.6")
    assert rules(text, sheet=TURNED_SHEET, machine=TURNED_LATHE) == []
    text = text.replace("X-0.6", "X-0.6\nG53 G0 X-200.\nG1", 1)
    assert "past-centre" not in rules(text, sheet=TURNED_SHEET, machine=TURNED_LATHE)


def test_an_angle_without_a_point_counts_thousandths_of_a_degree_in_inch_too():
    """Common practice, no source, as `tracker.machining.figures` has it."""
    text = edited(("X2.\nY2.", "X2\nA90\nY2."))
    said = [
        one.message for one in check(subject(text, machine=INCREMENT)).findings if one.rule == "bare-number"
    ]
    assert [one.split(",")[0] for one in said] == [
        "X2 has no point and is read as X0.0002",
        "A90 has no point and is read as A0.09",
    ]
