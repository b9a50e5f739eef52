"""Contours between P and Q: pieces, corners, angles, and what makes one unreadable."""

import math

import pytest

from tests.fakes.lathe import run
from tracker.machining.turning_shape import Leg, bulges, length, radius, shifted, turned

HEAD = "G21 G18 G99\nG97 S1000 M3\nT0101\nG0 X60. Z2.\n"


def finished(*contour, head=HEAD):
    """A program whose G70 follows these blocks, the first of which is N10 and the last N20."""
    lines = [*contour]
    lines[0] = "N10 " + lines[0]
    lines[-1] = "N20 " + lines[-1]
    return run(head + "F0.1\nG70 P10 Q20\nM30\n" + "\n".join(lines))


def g70(seen):
    return [move for move in seen.moves if move.code == "G70"]


def test_an_arc_by_radius_and_by_centre_is_the_same():
    by_radius = finished("G0 X20.", "G1 Z-10.", "G2 X30. Z-15. R5.", "G1 X60.")
    by_centre = finished("G0 X20.", "G1 Z-10.", "G2 X30. Z-15. I5. K0.", "G1 X60.")
    arcs = [move for seen in (by_radius, by_centre) for move in seen.moves if move.kind == "arc"]
    assert len(arcs) == 2
    for move in arcs:
        assert move.length == pytest.approx(math.pi / 2 * 5)
        assert move.arc.centre == (pytest.approx(-10.0), pytest.approx(30.0))
        assert move.arc.clockwise
        assert move.arc.radius == pytest.approx(5.0)
        assert move.arc.plane == 18
    assert by_radius.not_followed == by_centre.not_followed == []


def test_g3_goes_round_a_ball_nose():
    seen = finished("G0 X0.", "G1 Z0.", "G3 X40. Z-20. R20.", "G1 X60.")
    (move,) = [move for move in seen.moves if move.kind == "arc"]
    assert move.arc.centre == (pytest.approx(-20.0), pytest.approx(0.0))
    assert move.length == pytest.approx(10 * math.pi)


def test_u_and_w_count_from_where_the_tool_stands_u_as_a_diameter():
    named = finished("G0 X20.", "G1 Z-10.", "X30. Z-15.", "X60.")
    counted = finished("G0 U-40.", "G1 W-12.", "U10. W-5.", "U30.")
    assert counted.path == named.path


def test_a_chamfer_cuts_both_pieces_back():
    seen = finished("G0 X20.", "G1 Z-10. ,C2.", "X60.")
    assert [(move.end[0], move.end[2]) for move in g70(seen)[1:4]] == [
        (20.0, -8.0),
        (24.0, -10.0),
        (60.0, -10.0),
    ]
    assert g70(seen)[2].length == pytest.approx(2 * math.sqrt(2))


@pytest.mark.parametrize("corner", [",R2.", "R2."])
def test_a_rounded_corner_is_an_arc_that_touches_both_pieces(corner):
    seen = finished("G0 X20.", f"G1 Z-10. {corner}", "X60.")
    before, arc, after = g70(seen)[1:4]
    assert (before.end[0], before.end[2]) == (20.0, -8.0)
    assert arc.kind == "arc"
    assert arc.arc.centre == (pytest.approx(-8.0), pytest.approx(24.0))
    assert arc.arc.clockwise
    assert arc.length == pytest.approx(math.pi)
    assert (after.start[0], after.start[2]) == (pytest.approx(24.0), pytest.approx(-10.0))


def test_an_outer_corner_turns_the_other_way():
    seen = finished("G0 X20.", "G1 Z0.", "X40. ,R3.", "Z-20.", "X60.")
    (arc,) = [move for move in seen.moves if move.kind == "arc"]
    assert not arc.arc.clockwise
    assert arc.arc.centre == (pytest.approx(-3.0), pytest.approx(34.0))


def test_a_corner_of_a_taper_by_hand():
    """60 degrees between the pieces: the corner begins R tan(30 deg) before the tip."""
    seen = finished("G0 X20.", "G1 Z-10. ,R3.", f"X{20 + 2 * 20 * math.sin(math.pi / 3)} Z-20.", "X60.")
    assert g70(seen)[1].end[2] == pytest.approx(-10 + 3 * math.tan(math.pi / 6))
    assert g70(seen)[2].length == pytest.approx(3 * math.pi / 3)


@pytest.mark.parametrize("letter", [",A", "A"])
def test_an_angle_with_one_coordinate(letter):
    seen = finished("G0 X20.", f"G1 Z-10. {letter}150.", f"X40. {letter}135.", "X60.")
    (first, second) = g70(seen)[1:3]
    assert first.end[0] == pytest.approx(20 + 2 * 12 * math.tan(math.radians(30)))
    assert second.end[2] == pytest.approx(-10 - (40 - first.end[0]) / 2)


def test_feed_and_speed_of_the_contour_count_for_g70():
    seen = finished("G0 X20. S800", "G1 Z-8. F0.2", "X60. F0.4 S400")
    assert [move.minutes for move in g70(seen) if move.kind == "feed"] == [
        pytest.approx(10 / (0.2 * 800)),
        pytest.approx(20 / (0.4 * 400)),
    ]


def test_without_f_in_the_contour_the_f_of_the_cycle_counts():
    seen = finished("G0 X20.", "G1 Z-8.", "X60.")
    assert seen.minutes == pytest.approx(30 / (0.1 * 1000))


@pytest.mark.parametrize(
    ("block", "why"),
    [
        ("G1 Z[#1]", "Z[#1] is not known"),
        ("G2 X30. Z-15.", "an arc without radius or centre"),
        ("G2 X50. Z-15. R1.", "an arc whose ends do not fit its radius"),
        ("G28 U0 W0", "G28 in its contour"),
        ("G1 Z-10. H90.", "H90. in its contour"),
        ("G1 Z-10. K1.", "I or K beside G1"),
        ("G1 ,A135.", "an angle without one of X and Z"),
        ("G1 X30. Z-5. ,A135.", "an angle beside X and Z"),
        ("G1 X30. ,A180.", "an angle that does not lead there"),
    ],
)
def test_what_makes_a_contour_unreadable(block, why):
    seen = finished("G0 X20.", block, "G1 X60. Z-30.")
    assert seen.not_followed == [f"G70 at line 6: {why} (line 9)"]
    assert g70(seen) == []


@pytest.mark.parametrize(
    ("contour", "why"),
    [
        (("G0 X20.", "G1 X60. ,C1."), "a corner that is not between two straight pieces of its contour"),
        (("G0 X20.", "G1 Z-10. ,C20.", "X60."), "a corner longer than its piece"),
        (("G0 X20.", "G1 Z-10. ,C2.", "Z0.", "X60."), "a corner where its contour turns back"),
        (("G0 X20.", "G1 Z-10. ,C2.", "G2 X30. Z-15. R5.", "G1 X60."), "a corner that is not between"),
        (("G0 X20.", "G1 Z2. ,C2.", "X60."), "a corner beside a piece without length"),
        (("G0 X20. ,C1.", "G1 Z-10.", "X60."), "a corner at the first block of the contour"),
        (("G0 X20.", "M8"), "its contour has no shape"),
    ],
)
def test_corners_that_cannot_be(contour, why):
    seen = finished(*contour)
    assert len(seen.not_followed) == 1
    assert why in seen.not_followed[0]
    assert g70(seen) == []


def test_a_corner_where_the_pieces_run_straight_on_is_none():
    seen = finished("G0 X20.", "G1 Z-10. ,R2.", "Z-20.", "X60.")
    assert seen.not_followed == []
    assert seen.cut == pytest.approx(22 + 20)


def test_motion_of_the_first_block_must_be_known():
    seen = run("G21 G99 G97 S500\nG50 X60. Z2.\nG70 P10 Q20 F0.1\nM30\nN10 X20.\nN20 G1 Z-5.")
    assert seen.not_followed == ["G70 at line 3: no motion is in force (line 5)"]


@pytest.mark.parametrize("words", ["P10", "Q20", "P10 Q30", "P20 Q10", "P[#1] Q20"])
def test_a_contour_that_is_not_there(words):
    seen = run(HEAD + f"G70 {words}\nM30\nN10 G0 X20.\nN20 G1 Z-10.")
    assert len(seen.not_followed) == 1
    assert "missing, twice there, not in order or with jumps" in seen.not_followed[0]


def test_a_cycle_from_an_unknown_place():
    seen = run("G21 G99 T0101\nG70 P10 Q20 F0.1\nM30\nN10 G0 X20.\nN20 G1 Z-10.")
    assert seen.not_followed == ["G70 at line 2: where X Z stand is not known"]


def test_legs_keep_their_length_when_shifted():
    leg = Leg(start=(0.0, 20.0), end=(-20.0, 40.0), centre=(0.0, 40.0), clockwise=True)
    there = shifted(leg, 3.0, -1.0)
    assert (there.start, there.end, there.centre) == ((3.0, 19.0), (-17.0, 39.0), (3.0, 39.0))
    assert length(there) == length(leg) == pytest.approx(10 * math.pi)
    assert radius(leg) == 20.0
    assert turned(leg) == pytest.approx(math.pi / 2)
    assert bulges(leg) == ()


def test_the_bulge_of_a_half_circle():
    (top,) = bulges(Leg(start=(5.0, 10.0), end=(-5.0, 10.0), centre=(0.0, 10.0)))
    assert top == (pytest.approx(0.0), pytest.approx(15.0))
