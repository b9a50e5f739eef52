"""What a block does: "The NIST RS274/NGC Interpreter - Version 3", NISTIR 6556 (2000), sections 3.5 to 3.8."""

import pytest

from tests.fakes.run_log import ran, summed
from tracker.machining.watch import DWELL, FEED, RAPID

HERE = (0.0, 0.0, 1.0)


# Order in a block (section 3.8, Table 8)


@pytest.mark.parametrize("block", ["X1 G1 F5 M0", "M0 F5 G1 X1", "F5 X1 M0 G1"])
def test_order_of_words_says_nothing(block):
    log = ran(f"G20 G90 G0 X0\n{block}", start=HERE)
    (move,) = log.of(FEED)
    assert move.minutes == pytest.approx(1 / 5)
    assert [event.what for line, event in log.events if line == 2] == ["stop", "end"]


def test_a_tool_is_changed_before_its_length_and_motion():
    log = ran("G20 G90 G0\nT1 M6 G43 H1 Z1.")
    assert log.control.tool == 1
    assert (log.control.length, log.control.h) == ("43", 1)
    assert log.ends() == [(None, None, 1.0)]


def test_feed_mode_counts_for_the_feed_beside_it():
    assert ran("G20 G90 G1 G93 X1 F2", start=HERE).of(FEED)[0].minutes == 0.5


# Tools (section 3.6.3)


@pytest.mark.parametrize(
    ("text", "used", "staged"),
    [
        ("T1 M6\nT2\nG0 X1", ["1"], 2),
        ("T5\nT6\nM6", ["6"], None),
        ("T0 M6", ["0"], None),
        ("T3\nM6\nG0 X1\nM6", ["3", "3"], None),
    ],
)
def test_the_tool_called_for_last_comes_with_m6(text, used, staged):
    log = ran(text)
    assert log.told("tool") == used
    assert log.control.staged == staged


def test_m6_without_a_tool_is_named():
    assert ran("M6").not_followed == ["M6 at line 1: no tool was called for"]


def test_after_a_tool_change_it_is_not_known_where_the_axes_stand():
    # section 3.6.3: a tool change may include axis motion
    log = ran("G20 G90 G0 X1\nT1 M6\nX2\nX3", start=HERE)
    assert [move.length for _, move in log.moves] == [1, None, 1]


# Feed (sections 3.5.19, 3.7.1)


def test_inverse_time_is_the_same_whatever_the_length():
    log = ran("G20 G90 G93 G1 X1 F2\nX100 F2", start=HERE)
    assert [move.minutes for move in log.of(FEED)] == [0.5, 0.5]


def test_inverse_time_needs_its_f_in_every_block():
    log = ran("G20 G90 G93 G1 X1 F2\nX2", start=HERE)
    assert [move.minutes for move in log.of(FEED)] == [0.5, None]
    assert len(log.not_followed) == 1


def test_feed_per_revolution():
    # LinuxCNC documentation, G codes, G95: units per revolution
    log = ran("G20 G90 G95 S500 M3 F0.01\nG1 X1", start=HERE)
    assert log.of(FEED)[0].minutes == pytest.approx(1 / 5)


def test_a_feed_of_another_mode_is_not_taken_over():
    log = ran("G20 G90 G94 F10 G1 X1\nG95\nX2", start=HERE)
    assert log.of(FEED)[1].minutes is None
    assert log.not_followed != []


def test_minutes_of_a_turning_rotary_axis_are_not_told():
    log = ran("G20 G90 F10 G1 X1 A90.", start=HERE)
    (move,) = log.of(FEED)
    assert (move.length, move.minutes, move.end[3]) == (1, None, 90)
    assert len(log.not_followed) == 1


def test_rotary_axes_beside_inverse_time_have_minutes():
    assert ran("G20 G90 G93 G1 X1 A90 F4", start=HERE).of(FEED)[0].minutes == 0.25


# Dwell (section 3.5.4)


@pytest.mark.parametrize(
    ("word", "seconds", "stated"),
    [("P1.5", 1.5, False), ("P1500", 1.5, True), ("X2.", 2, False), ("U2.5", 2.5, False)],
)
def test_dwell(word, seconds, stated):
    log = ran(f"G20 G90 G0 X0\nG4 {word}", start=HERE)
    (wait,) = log.of(DWELL)
    assert wait.minutes == pytest.approx(seconds / 60)
    assert wait.end[:3] == HERE
    assert bool([guess for guess in log.told("guess") if "milliseconds" in guess]) is stated


# Units (section 3.5.6)


def test_units_are_those_of_the_first_word():
    log = ran("G21 G90 G0 X1", start=HERE, units="inch")
    assert log.control.base == "mm"
    assert log.moves[0][1].start[2] == 25.4


def test_a_switch_of_units_in_the_middle():
    log = ran("G20 G90 G0 X0\nG1 X1 F10\nG21 X50.8 F254", start=HERE)
    assert [move.end[0] for move in log.of(FEED)] == [1, pytest.approx(2)]
    assert [move.minutes for move in log.of(FEED)] == [pytest.approx(0.1), pytest.approx(0.1)]
    assert (log.control.base, log.control.units) == ("inch", "mm")


def test_units_said_after_the_first_moves():
    log = ran("G90 G0 X1\nG21 X2", start=HERE)
    assert log.not_followed == ["G21 at line 2: lengths before it have no units"]


# Distance (section 3.5.17)


def test_incremental_moves():
    log = ran("G20 G91 G1 F10 X1 Y1\nX1\nG90 X1", start=HERE)
    assert log.ends(0, 1) == [(1, 1), (2, 1), (1, 1)]


def test_an_incremental_length_is_known_anywhere():
    log = ran("G20 G91 G1 F10 X3 Y4")
    assert log.of(FEED)[0].length == 5


def test_without_g90_it_is_stated():
    assert ran("G20 G1 F1 X1", start=HERE).told("guess") == [
        "no G90 or G91 before the first axis word: read as G90"
    ]


def test_axes_that_are_not_named_stand_still():
    log = ran("G20 G90 G0 Z1.\nG1 Z-1 F10")
    assert log.of(FEED)[0].length == 2
    assert log.not_followed == ["G1 at line 2: from where X Y are not known"]


def test_no_motion_in_force_is_named():
    log = ran("G20 G90 X1\nY1", start=HERE)
    assert log.moves == []
    assert log.not_followed == ["axis words at line 1: no G0 to G3 in force, here and after"]


# Offsets (sections 3.5.11, 3.5.13, 3.5.18)


def test_g92_twice():
    # section 3.5.18: at X4, G92 X7 gives an offset of -3; then G92 X9 gives -5
    log = ran("G20 G90\nG92 X7\nG92 X9", start=(4.0, 0.0, 0.0))
    assert log.control.position[0] == 9
    assert log.control.moved[0] == -5
    assert log.told("offset-written") == ["G92 X7", "G92 X9"]


def test_g92_1_and_g92_2_and_g92_3():
    log = ran("G20 G90 G0 X4\nG92 X7\nG92.2\nG92.3\nG92.1\nX4", start=HERE)
    assert log.control.position[0] == 4
    assert log.moves[-1][1].length == 0


def test_g52_moves_the_zero():
    log = ran("G20 G90 G0 X4\nG52 X1\nX4\nG52 X0\nX4", start=HERE)
    assert [move.length for _, move in log.moves] == [4, 1, 1]


@pytest.mark.parametrize("known", [True, False])
def test_another_work_offset(known):
    offsets = {"G54": (0.0, 0.0, 0.0), "G55": (10.0, 0.0, 0.0)} if known else {}
    log = ran("G20 G90 G54 G0 X1\nG55 X1", start=HERE, offsets=offsets)
    assert log.moves[-1][1].length == (10 if known else None)
    assert log.control.offset == "G55"


@pytest.mark.parametrize(
    ("word", "code"),
    [("G54.1 P3", "G54.1 P3"), ("G54 P3", "G54.1 P3"), ("G59.2", "G59.2"), ("G154 P7", "G154 P7")],
)
def test_work_offsets_by_name(word, code):
    assert ran(word).control.offset == code


def test_the_map_of_g10_l2():
    # section 3.5.13: P1 is G54
    log = ran("G10 L2 P1 X3.5 Y17.2\nG90 G0 X1", offsets={"G54": (3.0, 17.0, 0.0)}, start=HERE)
    assert log.told("offset-written") == ["G10 L2 P1 X3.5 Y17.2"]
    assert log.moves[0][1].start[:2] == (pytest.approx(-0.5), pytest.approx(-0.2))


def test_g10_l20_says_where_the_tool_stands():
    assert ran("G90 G10 L20 P1 X5", start=HERE).control.position == [5, 0, 1, None, None, None]


@pytest.mark.parametrize(("lengths", "length"), [({1: 2.0, 2: 3.0}, 1), ({}, None)])
def test_another_tool_length(lengths, length):
    log = ran("G20 G90 G43 H1 G0 Z1\nG43 H2 Z1", lengths=lengths, start=HERE)
    assert log.moves[-1][1].length == length


def test_h_0_is_no_length():
    # section 3.5.11
    assert ran("G20 G90 G49 G0 Z1\nG43 H0 Z2").moves[-1][1].length == 1


# Home and machine coordinates (sections 3.5.8, 3.5.12)


def test_home_by_way_of_where_it_stands():
    log = ran("G20 G91 G28 Z0\nG90 G0 Z1", start=HERE)
    (there, back) = [move for _, move in log.moves]
    assert (there.code, there.machine, there.length) == ("G28", True, None)
    assert there.end[:3] == (None, None, None)
    assert (back.start[:3], back.length) == ((0, 0, None), None)


def test_home_with_known_figures():
    log = ran("G20 G90 G28 X2", start=HERE, home=(0.0, 0.0, 0.0), offsets={"G54": (-10.0, -5.0, -8.0)})
    assert [move.length for _, move in log.moves] == [2, 8]
    assert log.control.position[0] == 10


@pytest.mark.parametrize("block", ["G28", "G30", "G28 X0 Y0 Z0"])
def test_home_of_all_axes(block):
    assert ran(f"G20 G90 {block}", start=HERE).control.position[:3] == [None, None, None]


def test_home_is_not_a_motion_in_force():
    log = ran("G20 G90 G1 F10 X1\nG28 Y0\nX2", start=HERE)
    assert log.moves[-1][1].kind == FEED


def test_machine_coordinates():
    log = ran("G20 G90 G53 G0 Z0\nZ1", start=HERE, offsets={"G54": (0.0, 0.0, -8.0)}, lengths={})
    (there, back) = [move for _, move in log.moves]
    assert (there.machine, there.end[2]) == (True, 0)
    assert back.machine is False
    assert back.length is None  # no tool length was ever stated


def test_machine_coordinates_with_known_figures():
    log = ran("G20 G90 G49 G0 Z1\nG53 Z0", start=HERE, offsets={"G54": (0.0, 0.0, -8.0)})
    assert log.moves[-1][1].length == 7
    assert log.control.position[2] == 8


def test_machine_coordinates_need_a_straight_motion():
    log = ran("G20 G90 G2 G53 X1", start=HERE)
    assert log.not_followed == ["G53 at line 1: neither G0 nor G1 is in force"]


# What is not followed


@pytest.mark.parametrize(
    ("on", "off"),
    [("G68 X0 Y0 R30", "G69"), ("G51 X0 Y0 P2", "G50"), ("G16", "G15"), ("G51.1 X0", "G50.1 X0")],
)
def test_what_reads_words_otherwise_is_left_out_until_it_ends(on, off):
    log = ran(f"G20 G90 G1 F10 X1\n{on}\nG1 X9\nG2 X5 I1\nG81 Z-1 R1\nG1\n{off}\nG0 X0 Y0 Z0\nX1", start=HERE)
    code = on.split()[0]
    assert log.not_followed == [f"{code} at line 2"]
    assert [line for line, _ in log.moves] == [1, 8, 9]
    assert [move.length for _, move in log.moves] == [1, None, 1]


@pytest.mark.parametrize(
    "code", ["G12 I1 D1 F10", "G150 P1", "G31 Z-1", "G38.2 Z-1 F1", "G43.4 H1", "G5 X1 Y1 I1 J1 P1 Q1"]
)
def test_codes_that_are_named(code):
    log = ran(f"G20 G90 G1 F10 X1\n{code}", start=HERE)
    assert log.not_followed == [f"{code.split()[0]} at line 2"]


def test_limits_of_the_stored_stroke_check_are_no_place_to_go_to():
    """G22 and its limits: macro-type controls, from memory."""
    log = ran("G20 G90 G0 X1\nG22 X9 Y9 Z9 I0 J0 K0\nX2\nG23\nX3", start=HERE)
    assert log.not_followed == []
    assert [(line, move.end[:3]) for line, move in log.moves][1:] == [
        (3, (2, *HERE[1:])),
        (5, (3, *HERE[1:])),
    ]


def test_a_mirror_that_ends_names_its_axes():
    """G101 X0 mirrors, G100 X0 ends it (common practice, from memory); G100 X5 by itself is a code that is not known."""
    log = ran("G20 G90 G0 X1\nG101 X0\nX5\nG100 X0\nG0 X7 Y7 Z7\nX8", start=HERE)
    assert log.not_followed == ["G101 at line 2"]
    assert [line for line, _ in log.moves] == [1, 5, 6]
    log = ran("G20 G90 G0 X1\nG100 X5\nG0 X7", start=HERE)
    assert log.not_followed == ["G100 at line 2"]
    assert log.moves[-1][1].length is None


def test_a_block_of_nothing_but_an_l_may_call_a_program():
    """Controls with L words for subprograms, from memory."""
    log = ran("G20 G90 G0 X1\nL100 P2\nX2\nG1 X3 L2 F1", start=HERE)
    assert log.not_followed[0] == "L100 at line 2: some controls call a program so"
    log = ran("G20 G90 G0 X1\nN5 l 0100 P2\nX2")
    assert log.not_followed[0].startswith("L0100 at line 2: ")
    assert log.moves[1][1].length is None


def test_how_many_turns_an_arc_makes_by_l_is_named():
    log = ran("G20 G90 G1 F10 X1\nG2 I1 Z-3 L3", start=HERE)
    assert log.not_followed == [
        "L at line 2: beside an arc: how many turns it makes differs between controls"
    ]


def test_a_d_before_its_g41_is_the_one_in_force():
    """Beside G43 or by itself (macro-type controls, from memory); beside G10 and G41.1 it is no number of an offset."""
    assert ran("G43 H1 D4\nG41 X1 G1 F1").control.d == 4
    assert ran("D4\nG41 D5 X1 G1 F1").control.d == 5
    assert ran("D4\nG10 L12 P1 R1 D6\nG41.1 D0.5 X1 G1 F1").control.d == 4


@pytest.mark.parametrize("code", ["G5.1 Q1", "G8 P1", "G9", "G64 P0.01", "G187 P3", "G61", "M21", "G17"])
def test_codes_that_say_nothing_of_the_way(code):
    assert ran(f"G20 G90 G1 F10 X1\n{code}\nX2", start=HERE).not_followed == []


def test_a_word_that_cannot_be_told():
    log = ran("G20 G90 G1 F10 X#500\nY1", start=HERE)
    assert log.control.position[:2] == [None, 1]
    assert log.not_followed != []


# End (section 3.6.1)


def test_what_m30_sets_back():
    log = ran("G55 G18 G91 G93 G42 D1 M3 S100 M8 G1 F1 X1\nG92 X5\nM30", start=HERE)
    control = log.control
    assert (control.offset, control.plane, control.absolute, control.feed_mode) == (
        "G54",
        17,
        True,
        "per-minute",
    )
    assert (control.radius, control.spindle, control.motion, control.coolant) == ("40", "5", "1", set())
    assert control.moved == [0, 0, 0]


def test_stops_are_told_with_their_lines():
    told = summed("G20\nM0\nM1\nM30")
    assert told.stops == ((2, "M0"), (3, "M1"))


def test_rapids_before_the_first_place_is_known_are_no_fault():
    log = ran("G20 G90 G0 X1 Y1\nG43 H1 Z1\nX2")
    assert log.not_followed == []
    assert [move.length for move in log.of(RAPID)] == [None, None, 1]


# Words beside the usual ones


@pytest.mark.parametrize(
    ("word", "named"),
    [
        (",R0.1", ",R at line 1: corners are not cut or rounded off, here and after"),
        (",C0.1", ",C at line 1: corners are not cut or rounded off, here and after"),
        ("U1", "U at line 1: a further axis, here and after"),
        ("R0.1", "R at line 1: beside G1, here and after"),
    ],
)
def test_words_that_change_the_way_are_named_once(word, named):
    log = ran(f"G20 G90 G1 F10 X1 {word}\nX2 {word}", start=HERE)
    assert log.not_followed == [named]
    assert len(log.of(FEED)) == 2


@pytest.mark.parametrize(
    ("word", "z"), [("G10 L12 P1 R0.25", 1), ("G10 L10 P1 R5.", None), ("G10 P1 R5.", None)]
)
def test_tool_data_that_is_written(word, z):
    log = ran(f"G20 G90 G43 H1 G0 Z1\n{word}", start=HERE, lengths={1: 5.0})
    assert log.control.position[2] == z


def test_data_of_the_control_is_named():
    assert ran("G10 L50\nN1 R1\nG11").not_followed == ["G10 L50 at line 1: lines of data"]


@pytest.mark.parametrize("figure", ["9" * 400, "9" * 300, "1000000000"])
def test_a_figure_no_machine_has(figure):
    log = ran(f"G20 G90 G1 F10 X1\nX{figure}\nX-{figure}\nG91 X{figure}", start=HERE)
    assert all(move.length is None for move in log.of(FEED)[1:])
    assert "X at line 2: a figure no machine has" in log.not_followed


@pytest.mark.parametrize("lead", ["K0.05", "F0.05"])
def test_a_thread_takes_its_lead_every_revolution(lead):
    # LinuxCNC documentation, G codes, G33: K is the distance per revolution
    log = ran(f"G20 G90 S500 M3 F10 G1 X0\nG33 Z-1 {lead}\nG1 Z1 F10", start=HERE)
    assert [move.minutes for move in log.of(FEED)] == [0, pytest.approx(2 / 25), pytest.approx(0.2)]
    assert log.not_followed == []


def test_a_thread_without_a_lead_has_no_minutes():
    log = ran("G20 G90 S500 M3 F10 G1 X0\nG33 Z-1", start=HERE)
    assert log.of(FEED)[-1].minutes is None
    assert len(log.not_followed) == 1
