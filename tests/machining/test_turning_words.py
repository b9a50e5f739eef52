"""Lathe words outside cycles: steps by U and W, limits, presets, feed modes, and what is named."""

import math

import pytest

from tests.fakes.lathe import run

HEAD = "G21 G18 G99\nG97 S1000 M3\nT0101\nG0 X50. Z2.\n"


def place(seen):
    return seen.control.position[0], seen.control.position[2]


def test_x_is_a_diameter():
    seen = run(HEAD + "G1 X40. Z-3. F0.2\nM30")
    assert seen.cuts[0].length == pytest.approx(math.hypot(5, 5))


def test_u_and_w_count_from_where_the_tool_stands():
    seen = run(HEAD + "G1 U-10. W-5. F0.2\nU2.\nM30")
    assert [(m.end[0], m.end[2]) for m in seen.cuts] == [(40.0, -3.0), (42.0, -3.0)]
    assert seen.cut == pytest.approx(math.hypot(5, 5) + 1)


def test_an_arc_to_u_and_w():
    seen = run(HEAD + "G2 U10. W-5. R5. F0.2\nM30")
    (arc,) = seen.cuts
    assert (arc.end[0], arc.end[2]) == (60.0, -3.0)
    assert arc.length == pytest.approx(math.pi / 2 * 5)
    assert arc.minutes == pytest.approx(math.pi / 2 * 5 / 200)


def test_an_arc_by_centre_has_i_as_a_radius():
    seen = run(HEAD + "G3 X60. Z-3. K-5. I0. F0.2\nM30")
    (arc,) = seen.cuts
    assert arc.arc.centre == (pytest.approx(-3.0), pytest.approx(50.0))
    assert arc.length == pytest.approx(math.pi / 2 * 5)
    assert not arc.arc.clockwise


def test_an_arc_under_constant_cutting_speed():
    seen = run("G21 G18 G99 G96 S200 M3\nG50 S3000\nG0 X0. Z0.\nG3 X40. Z-20. R20. F0.1\nM30")
    per = 2 * math.pi / 200_000
    inside = math.asin(1 / (3000 * per) / 20)
    by_hand = 20 * inside / (0.1 * 3000) + per / 0.1 * 20 * 20 * math.cos(inside)
    assert seen.minutes == pytest.approx(by_hand)


def test_g50_with_s_is_a_limit_and_with_axes_too_a_preset():
    seen = run(HEAD + "G50 S2500\nG50 X100. Z50. S2000\nM30")
    assert seen.control.limit == 2000.0
    assert seen.control.speed == 1000.0
    assert place(seen) == (100.0, 50.0)
    assert [event.value for event in seen.events if event.what == "offset-written"] == [
        "G50 X100. Z50. S2000"
    ]
    assert seen.not_followed == []


def test_g50_with_u_and_w_shifts():
    seen = run(HEAD + "G50 U2. W-1.\nM30")
    assert place(seen) == (52.0, 1.0)


def test_g92_with_s_alone_is_a_limit_and_no_cycle():
    seen = run(HEAD + "G1 X48. F0.2\nG92 S1800\nX46.\nM30")
    assert seen.control.limit == 1800.0
    assert [m.code for m in seen.cuts] == ["G1", "G1"]
    assert seen.not_followed == []


def test_g52_is_written_and_moves_nothing():
    seen = run(HEAD + "G52 Z-5.\nM30")
    assert [m.code for m in seen.moves] == ["G0"]
    assert place(seen) == (50.0, 7.0)
    assert any(event.what == "offset-written" for event in seen.events)


def test_g28_with_u_and_w():
    seen = run(HEAD + "G28 U0 W0\nG0 X40.\nM30")
    assert place(seen) == (40.0, None)
    assert seen.not_followed == []
    assert seen.moves[-1].length is None


def test_feed_modes():
    seen = run(HEAD + "G98 G1 Z-10. F60.\nG99 G1 Z-20. F0.1\nM30")
    assert [m.minutes for m in seen.cuts] == [pytest.approx(12 / 60), pytest.approx(10 / 100)]


def test_without_a_feed_mode_minutes_are_not_guessed():
    seen = run("G21 G97 S500\nG0 X20. Z2.\nG1 Z-10. F0.1\nM30")
    assert seen.cuts[0].minutes is None
    assert seen.not_followed == [
        "minutes of feed moves without a known feed per minute or revolution, first at line 3"
    ]


def test_the_centre_without_any_limit_is_named():
    program = "G21 G99 G96 S200\nG0 X40. Z0.\nG1 X0. F0.1\nM30"
    seen = run(program)
    assert seen.cuts[0].minutes is None
    assert seen.not_followed == [
        "minutes of feed moves without a known highest speed at the centre, first at line 3"
    ]
    known = run(program, max_rpm=3000.0)
    inside = 200_000 / (2 * math.pi * 3000)
    by_hand = inside / 300 + math.pi / 200_000 / 0.1 * (20**2 - inside**2)
    assert known.minutes == pytest.approx(by_hand)
    assert known.not_followed == []


def test_a_feed_under_g96_from_an_unknown_diameter():
    seen = run("G21 G99 G96 S200 T0101\nG0 Z2.\nG1 Z-10. F0.1\nM30")
    assert seen.cuts[0].length == 12.0
    assert seen.cuts[0].minutes is None
    assert "minutes of feed moves without a known diameter under G96, first at line 3" in seen.not_followed


def test_a_feed_without_s_or_f():
    seen = run("G21 G99 G97\nG0 X20. Z2.\nG1 Z-10.\nZ-20. F0.1\nM30")
    assert seen.not_followed == ["minutes of feed moves without a known F, first at line 3"]
    seen = run("G21 G99 G97\nG0 X20. Z2.\nG1 Z-10. F0.1\nM30")
    assert seen.not_followed == [
        "minutes of feed moves without a known speed under feed per revolution, first at line 3"
    ]


def test_an_angle_beside_one_coordinate():
    seen = run(HEAD + "G1 X60. A135. F0.2\nZ-10. ,A180.\nM30")
    assert [(m.end[0], m.end[2]) for m in seen.cuts] == [
        (60.0, pytest.approx(-3)),
        (pytest.approx(60), -10.0),
    ]
    assert seen.not_followed == []


@pytest.mark.parametrize("block", ["G1 A135. F0.2", "G1 X60. Z-5. ,A135. F0.2", "G1 X60. A180. F0.2"])
def test_an_angle_that_is_not_followed(block):
    seen = run(HEAD + block + "\nM30")
    assert len([name for name in seen.not_followed if name.startswith("angle")]) == 1
    assert place(seen) == (None, None)


@pytest.mark.parametrize("corner", [",C1.", ",R1.", "R1.", "K-1."])
def test_corners_outside_a_contour_are_named(corner):
    seen = run(HEAD + f"G1 Z-10. {corner} F0.2\nX60.\nM30")
    assert seen.not_followed == [f"{corner} at line 5: a corner outside a contour"]
    assert seen.cut == pytest.approx(12 + 5)


def test_words_of_another_system_of_codes():
    seen = run(HEAD + "G90 G1 X48. F0.2\nX46.\nM30")
    assert [m.code for m in seen.cuts] == ["G1", "G1"]
    assert seen.not_followed == ["G90 beside G1 at line 5: taken as no cycle there"]


def test_g91_leaves_out_what_it_moves():
    seen = run(HEAD + "G91 G1 X-2. F0.2\nZ-5.\nM30")
    assert seen.not_followed == ["G91 at line 5: how axis words count on this lathe is not known"]
    assert seen.cuts == []
    assert place(seen) == (None, None)


def test_a_mirrored_turret_is_left_out():
    seen = run(HEAD + "G68\nG1 X40. F0.2\nG71 P1 Q2 U1.\nG69\nG0 X60. Z5.\nG1 X50.\nM30")
    assert seen.not_followed[0] == "G68 at line 5: mirrored turret"
    assert [m.end[0] for m in seen.cuts] == [50.0]


@pytest.mark.parametrize("code", ["G31", "G36", "G37", "G107.5"])
def test_codes_that_are_not_followed_are_named_and_where_they_lead_is_not_known(code):
    seen = run(HEAD + f"{code} Z-10.\nM30")
    assert seen.not_followed == [f"{code} at line 5"]
    assert place(seen) == (50.0, None)
    assert len(seen.moves) == 1


def test_drilling_cycles_of_a_lathe_are_named_until_they_end():
    seen = run(HEAD + "G83 X0. Z-20. Q5000 R-1. F0.1\nX20.\nG80\nG0 X50. Z2.\nM30")
    assert seen.not_followed == [
        f"G83 at line {n}: what its words mean differs between lathes" for n in (5, 6)
    ]
    assert [m.kind for m in seen.moves] == ["rapid", "rapid"]
    assert place(seen) == (50.0, 2.0)


def test_a_dwell_by_u():
    seen = run(HEAD + "G4 U1.5\nM30")
    assert seen.moves[-1].kind == "dwell"
    assert seen.moves[-1].minutes == pytest.approx(1.5 / 60)
    assert place(seen) == (50.0, 2.0)


def test_a_c_axis_turn_has_no_guessed_minutes():
    seen = run(HEAD + "G1 H90. F0.2\nM30")
    assert seen.cuts[0].minutes is None
    assert seen.control.position[5] is None


def test_lengths_in_least_increments():
    """X50000 is 50 mm; block numbers, counts of passes and what P and Q count anyway stay what they are."""
    seen = run(
        "G21 G99 G97 S1000\nG0 X60000 Z5000\nG73 U9000 W3000 R4\nG73 P10 Q20 U1000 W200 F300\n"
        "N10 G0 X40000 Z2000\nG1 Z-50000\nN20 X60000\n"
        "G76 P010060 Q100 R50\nG76 X16932 Z-30000 P1534 Q400 F2500\nM30",
        decimal="increment",
    )
    assert seen.not_followed == []
    first, thread = (sum(m.length for m in seen.cuts if m.code == code) for code in ("G73", "G76"))
    assert first == pytest.approx(4 * 62)
    assert thread == pytest.approx(12 * 35)


def test_block_numbers_and_steps_in_increments_raise_no_question_how_lengths_are_read():
    program = "G0 X60. Z5.\nG71 U2. R1.\nG71 P10 Q20 U1. F0.2\nN10 G0 X40.\nN20 G1 Z-5.\nG76 P010060 Q100 R0.05\nM30"
    assert [event for event in run(HEAD + program).events if event.what == "guess"] == []
    (asked,) = [event for event in run(HEAD + "G1 X40 F0.1\nM30").events if event.what == "guess"]
    assert "without a point" in asked.value


@pytest.mark.parametrize("codes", ["G96 S180\nG1 Z-1. F0.2\nG97", "G1 Z-1. F0.2\nG96"])
def test_an_s_of_g96_is_none_of_g97(codes):
    """S180 m/min are not 180 turns a minute; what turns until the next S the control reckons (from memory)."""
    seen = run(f"{HEAD}{codes}\nZ-11.\nS800\nZ-21.\nM30")
    first, unknown, known = seen.cuts
    assert (first.minutes is None, unknown.minutes, known.minutes is None) == (False, None, False)
    assert seen.control.speed == 800
    (named,) = seen.not_followed
    assert named.startswith(
        "minutes of feed moves without a known speed under feed per revolution, first at line"
    )


def test_the_end_of_polar_writing_is_no_work_offset():
    """G112 and G113 of a lathe (common practice, from memory)."""
    seen = run(HEAD + "G54\nG112\nG113\nG0 X50. Z2.\nM30")
    assert seen.control.offset == "G54"
    assert seen.not_followed == ["G112 at line 6"]


def test_a_first_feed_move_of_y_has_a_length_nobody_knows():
    seen = run(HEAD + "G98 G1 X40. F100.\nY10.\nY20.\nM30")
    assert seen.not_followed == ["G1 at line 6: from where Y is not known"]
    assert seen.cuts[-1].length == 10
