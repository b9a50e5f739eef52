"""Arcs: T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274/NGC Interpreter - Version 3", NISTIR 6556 (2000)."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.fakes.run_log import ran, summed
from tracker.machining import arcs
from tracker.machining.watch import ARC, FEED

PI = math.pi


def test_the_arc_printed_in_section_3_5_3_2():
    log = ran("G21 G90 G17 F100\nG2 X10 Y16 I3 J4 Z9", start=(7.0, 7.0, 9.0))
    (move,) = log.of(ARC)
    assert move.arc is not None
    assert move.arc.centre == (10.0, 11.0)
    assert move.arc.radius == 5.0
    assert math.degrees(move.arc.angle) == pytest.approx(143.1301, abs=1e-4)
    assert move.length == pytest.approx(12.490458, abs=1e-6)
    assert move.end[:3] == (10.0, 16.0, 9.0)


def test_end_where_it_starts_is_a_whole_turn():
    # section 3.5.3.2; radius 2.5: 5 pi = 15.707963
    log = ran("G21 G90 G17 F100\nG2 X32.5 J2.5", start=(32.5, 0.0, 0.0))
    assert log.length(ARC) == pytest.approx(15.707963, abs=1e-6)
    assert log.not_followed == []


def test_a_whole_turn_without_axis_words():
    # LinuxCNC documentation, G codes, G2 and G3: no axis word is needed for a full circle
    assert ran("G20 G90 G1 F9\nG3 I1", start=(0.0, 0.0, 0.0)).length(ARC) == pytest.approx(2 * PI)


def test_helix_of_one_turn():
    # hypot(2 pi r, pitch), r 1 and pitch 0.5: 6.303048
    log = ran("G21 G90 G17 F100\nG3 X1 Y0 I-1 J0 Z-0.5", start=(1.0, 0.0, 0.0))
    assert log.length(ARC) == pytest.approx(6.303048, abs=1e-6)


def test_helix_of_several_turns():
    # LinuxCNC documentation, G codes: P is the number of turns
    log = ran("G21 G90 G17 F100\nG3 X1 Y0 I-1 J0 Z-3 P3", start=(1.0, 0.0, 0.0))
    assert log.length(ARC) == pytest.approx(math.hypot(6 * PI, 3))


@pytest.mark.parametrize(
    ("r", "degrees"), [("1", 90), ("-1", 270)], ids=["the short way", "a negative radius goes the long way"]
)
def test_radius_format(r, degrees):
    # section 3.5.3.1
    log = ran(f"G20 G90 G17 F10\nG3 X0 Y1 R{r}", start=(1.0, 0.0, 0.0))
    (move,) = log.of(ARC)
    assert move.arc is not None
    assert math.degrees(move.arc.angle) == pytest.approx(degrees)


def test_a_semicircle_by_radius():
    log = ran("G20 G90 G17 F10\nG2 X2 R1", start=(0.0, 0.0, 0.0))
    assert log.length(ARC) == pytest.approx(PI)
    assert summed("G20 G90 G17 G0 X0 Y0 Z0 F10\nG2 X2 R1").tools[0].y == pytest.approx((0, 1))


@pytest.mark.parametrize("words", ["X0 Y0 R5", "X5 Y0 R2"], ids=["no way to go", "radius too small"])
def test_radius_that_leads_nowhere_is_named(words):
    log = ran(f"G21 G90 G17 F10\nG2 {words}", start=(0.0, 0.0, 0.0))
    assert len(log.not_followed) == 1
    assert "at line 2" in log.not_followed[0]
    assert log.of(ARC) == []


@pytest.mark.parametrize(
    ("units", "start_radius", "named"),
    [("G21", "24.999", False), ("G21", "24.998", True), ("G20", "24.9999", False), ("G20", "24.99985", True)],
)
def test_radii_that_differ(units, start_radius, named):
    # section 3.5.3.2: an error above 0.0002 inch or 0.002 mm; here the radii differ by twice what I is off
    log = ran(f"{units} G90 G17 F10\nG2 X50 Y0 I{start_radius}", start=(0.0, 0.0, 0.0), units=None)
    assert bool(log.not_followed) is named
    assert len(log.of(ARC)) == 1


@pytest.mark.parametrize(
    ("plane", "start", "words", "end"),
    [
        ("G17", (1.0, 0.0, 0.0), "X0 Y1 I-1 J0", (0.0, 1.0, 0.0)),
        ("G18", (0.0, 0.0, 1.0), "X1 Z0 I0 K-1", (1.0, 0.0, 0.0)),
        ("G19", (0.0, 1.0, 0.0), "Y0 Z1 J-1 K0", (0.0, 0.0, 1.0)),
    ],
)
def test_counterclockwise_in_three_planes(plane, start, words, end):
    # section 3.5.3: seen from the positive end of the axis around which the arc turns
    (move,) = ran(f"G20 G90 F10 {plane}\nG3 {words}", start=start).of(ARC)
    assert move.arc is not None
    assert math.degrees(move.arc.angle) == pytest.approx(90)
    assert move.end[:3] == end


def test_centre_where_g90_1_says():
    # LinuxCNC documentation, G codes, G90.1: I J K are coordinates
    (move,) = ran("G20 G90 G90.1 G17 F10\nG3 X0 Y1 I0 J0", start=(1.0, 0.0, 0.0)).of(ARC)
    assert move.length == pytest.approx(PI / 2)


# Contours with the straight lengths and the sweeps of Tables 12 and 13 (Appendix B): 13 and five arcs that add up to
# 450 degrees at radius 1, bounds (-3, -2) and (3, 5).
TABLE_12 = """G20 G17 G90 F10
G0 X1 Y5 Z0
G1 X2
G2 X3 Y4 J-1
G1 Y-1
G2 X2 Y-2 I-1
G1 X-2
G2 X-3 Y-1 J1
G1 Y1
G2 X-1.2 Y1.6 I1
G1 X-0.6 Y0.8
G2 X-0.4 Y0.2 I-0.8 J-0.6
"""


def test_the_length_of_table_12():
    told = summed(TABLE_12)
    assert told.cutting_length == pytest.approx(13 + 5 * PI / 2, abs=1e-9)
    assert told.cutting_length == pytest.approx(20.853982, abs=1e-6)
    (tool,) = told.tools
    assert (tool.x, tool.y) == (pytest.approx((-3, 3)), pytest.approx((-2, 5)))
    assert told.not_followed == ()


def test_the_length_of_table_13():
    # 13 straight, radii 1.5 outside (360 degrees) and 0.5 inside (90 degrees): 13 + 13 pi / 4 = 23.210176
    text = """G20 G17 G90 F10
G0 X0 Y0 Z0
G1 X4
G2 X5.5 Y-1.5 J-1.5
G1 Y-4.5
G2 X4 Y-6 I-1.5
G1 X1
G3 X0.5 Y-6.5 J-0.5
G2 X-1 Y-8 I-1.5
G2 X-2.5 Y-6.5 J1.5
G1 Y-3.5
"""
    length = summed(text).cutting_length
    assert length == pytest.approx(13 + 13 * PI / 4, abs=1e-9)
    assert length == pytest.approx(23.210176, abs=1e-6)


angles = st.floats(-720, 720, allow_nan=False)


@given(angles, st.floats(1, 359), st.booleans(), st.floats(0.01, 100))
def test_bounds_hold_every_point_of_an_arc(first, sweep, clockwise, radius):
    sign = -1 if clockwise else 1

    def at(part):
        angle = math.radians(first + sign * part * sweep)
        return radius * math.cos(angle), radius * math.sin(angle)

    angle = arcs.angle_of(at(0), at(1), (0, 0), clockwise=clockwise)
    assert angle == pytest.approx(math.radians(sweep), rel=1e-6)
    low_a, high_a, low_b, high_b = arcs.bounds(at(0), at(1), (0, 0), radius, angle, clockwise=clockwise)
    points = [at(part / 720) for part in range(721)]
    slack = radius * 1e-4
    assert low_a == pytest.approx(min(a for a, _ in points), abs=slack)
    assert high_a == pytest.approx(max(a for a, _ in points), abs=slack)
    assert low_b == pytest.approx(min(b for _, b in points), abs=slack)
    assert high_b == pytest.approx(max(b for _, b in points), abs=slack)


@given(angles, st.floats(5, 175), st.booleans(), st.booleans())
def test_radius_and_centre_format_agree(first, sweep, clockwise, long):
    turned = 360 - sweep if long else sweep
    sign = -1 if clockwise else 1
    a, b = math.radians(first), math.radians(first + sign * turned)
    start, end = (math.cos(a), math.sin(a)), (math.cos(b), math.sin(b))
    centre = arcs.centre_by_radius(start, end, -1.0 if long else 1.0, clockwise=clockwise, tolerance=0.002)
    assert centre == pytest.approx((0, 0), abs=1e-7)


def test_an_arc_from_nowhere_is_named():
    log = ran("G20 G90 G17 F10\nG2 X1 Y1 R1")
    assert log.not_followed == ["G2 at line 2: from or to where the axes are not known"]
    assert log.of(ARC, FEED) == []


@pytest.mark.parametrize(
    ("plane", "words", "reached"),
    [
        ("G17", "G2 X0 Y0 I1", ((0, 2), (-1, 1), (0, 0))),
        ("G18", "G2 X0 Z0 K1", ((-1, 1), (0, 0), (0, 2))),
        ("G19", "G2 Y0 Z0 J1", ((0, 0), (0, 2), (-1, 1))),
    ],
)
def test_bulges_in_three_planes(plane, words, reached):
    (tool,) = summed(f"G20 G90 F10 {plane} G0 X0 Y0 Z0\n{words}").tools
    assert (tool.x, tool.y, tool.z) == tuple(pytest.approx(span) for span in reached)


def test_bulges_of_a_lathe_are_diameters():
    # a quarter of radius 5 out of the face: X is a diameter, so it reaches 10 further (common practice, no source)
    text = "G21 G99\nT0101\nG97 S500 M3\nG0 X20. Z0.\nG3 X30. Z-5. K-5. F0.1\nM30"
    (tool,) = summed(text, lathe=True).tools
    assert tool.x == pytest.approx((20, 30))
    assert tool.cutting_length == pytest.approx(5 * PI / 2)
    (tool,) = summed(text.replace("X30. Z-5. K-5.", "X20. Z-10. K-5."), lathe=True).tools
    assert tool.x == pytest.approx((20, 30))
    assert tool.cutting_length == pytest.approx(5 * PI)
