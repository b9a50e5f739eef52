"""G71, G72 and G73: passes counted and measured by hand, and what is not followed."""

import math

import pytest

from tests.fakes.lathe import run

HEAD = "G21 G18 G99\nG97 S1000 M3\nT0101\n"
STEP = "G0 X60. Z2.\nG71 U2. R1.\nG71 P10 Q20 U1. W0.2 F0.3\nN10 G0 X40.\nG1 Z-50. F0.1\nN20 X60.\nG0 X100. Z50.\nM30"


def code(seen, name):
    return [move for move in seen.moves if move.code == name]


def levels(seen, name="G71"):
    """Diameter of every feed move along the axis alone."""
    return [m.end[0] for m in code(seen, name) if m.kind == "feed" and m.start[0] == m.end[0]]


def test_a_step_is_roughed_in_passes_and_once_along_its_shape():
    """X60 to X40, 1 mm left on the diameter, 0.2 mm on the face, 2 mm a pass: 4 passes of 52 mm, then 52 + 10 mm."""
    seen = run(HEAD + STEP)
    assert seen.not_followed == []
    assert levels(seen) == [57.0, 53.0, 49.0, 45.0, 41.0]
    feeds = [move.length for move in code(seen, "G71") if move.kind == "feed"]
    assert feeds == [pytest.approx(length) for length in (52, 52, 52, 52, 52, 10)]
    assert seen.minutes == pytest.approx(270 / (0.3 * 1000))


def test_the_tool_ends_where_it_began_and_goes_on_behind_the_contour():
    seen = run(HEAD + STEP)
    last = code(seen, "G71")[-1]
    assert (last.kind, last.end[0], last.end[2]) == ("rapid", 60.0, 2.0)
    after = seen.moves[-1]
    assert (after.code, after.start[0], after.start[2]) == ("G0", 60.0, 2.0)
    assert {line for line, move in zip(seen.lines, seen.moves, strict=True) if move.kind == "feed"} == {6}


def test_rapids_of_a_roughing_cycle_by_hand():
    """Off by the stock, 4 times down, back off at 45 degrees and back; then down to the shape and home."""
    seen = run(HEAD + STEP)
    rapids = [move.length for move in code(seen, "G71") if move.kind == "rapid"]
    off = math.hypot(0.5, 0.2)
    back = math.sqrt(2)
    first = [2.0, back, 51.0]
    later = [3.0, back, 51.0]
    assert rapids == [pytest.approx(x) for x in (off, *first, *later * 3, 3.0, math.hypot(0.5, 51.8))]


def test_an_approach_at_feed_comes_down_at_feed():
    seen = run(HEAD + STEP.replace("N10 G0 X40.", "N10 G1 X40."))
    assert seen.cut == pytest.approx(270 + 2 + 3 * 3 + 3)


def test_one_block_with_the_depth_in_d():
    """D without a point counts thousandths of a millimetre; the retract is the control's, and that is said."""
    for depth in ("D2000", "D2."):
        seen = run(HEAD + STEP.replace("G71 U2. R1.\nG71", "G71").replace("W0.2", f"W0.2 {depth}"))
        assert levels(seen) == [57.0, 53.0, 49.0, 45.0, 41.0]
        assert seen.cut == pytest.approx(270)
        assert seen.not_followed == ["G71 at line 5: the control sets its retract, rapids are without it"]


def test_inches():
    seen = run(
        "G20 G99 G97 S1000\nG0 X2.4 Z0.1\nG71 U0.08 R0.04\nG71 P10 Q20 U0.04 W0.008 F0.012\n"
        "N10 G0 X1.6\nG1 Z-2.\nN20 X2.4\nM30"
    )
    assert levels(seen) == [pytest.approx(x) for x in (2.28, 2.12, 1.96, 1.8, 1.64)]
    assert seen.cut == pytest.approx(5 * 2.1 + 0.4)


def test_boring_goes_outwards():
    """X20 to X40: stock is negative on the diameter; 4 passes of 32 mm, then 32 + 10."""
    seen = run(
        HEAD + "G0 X20. Z2.\nG71 U2. R0.5\nG71 P10 Q20 U-1. W0.1 F0.2\nN10 G0 X40.\nG1 Z-30.\nN20 X20.\nM30"
    )
    assert levels(seen) == [23.0, 27.0, 31.0, 35.0, 39.0]
    assert seen.cut == pytest.approx(4 * 32 + 32 + 10)
    assert seen.not_followed == []
    off = next(m for m in code(seen, "G71") if m.kind == "rapid" and m.start[2] == pytest.approx(-29.9))
    assert (off.end[0], off.end[2]) == (pytest.approx(22.0), pytest.approx(-29.4))


def test_cutting_to_the_right():
    seen = run(
        HEAD + "G0 X60. Z-52.\nG71 U5. R1.\nG71 P10 Q20 U1. W-0.2 F0.3\nN10 G0 X40.\nG1 Z0.\nN20 X60.\nM30"
    )
    assert levels(seen) == [51.0, 41.0]
    assert seen.cut == pytest.approx(2 * 52 + 10)
    assert seen.not_followed == []


def test_passes_end_on_the_arc_of_a_ball_nose():
    seen = run(
        HEAD
        + "G0 X50. Z2.\nG71 U5. R0.5\nG71 P10 Q20 F0.2\nN10 G0 X0.\nG1 Z0.\nG3 X40. Z-20. R20.\nN20 G1 X50.\nM30"
    )
    cuts = [m for m in code(seen, "G71") if m.kind == "feed" and m.start[2] == 2.0]
    ends = {m.end[0]: m.end[2] for m in cuts}
    for r in (5, 10, 15):
        assert ends[2 * r] == pytest.approx(-20 + math.sqrt(400 - r * r))
    assert ends[40.0] == pytest.approx(-20)
    assert seen.not_followed == []


def test_passes_end_on_a_hollow():
    seen = run(
        HEAD
        + "G0 X80. Z2.\nG71 U5. R0.5\nG71 P10 Q20 F0.2\nN10 G0 X40.\nG1 Z-10.\nG2 X80. Z-30. R20.\nN20 G1 X80.\nM30"
    )
    ends = {m.end[0]: m.end[2] for m in code(seen, "G71") if m.kind == "feed" and m.start[2] == 2.0}
    for r in (25, 30, 35):
        assert ends[2 * r] == pytest.approx(-10 - math.sqrt(400 - (40 - r) ** 2))
    assert seen.not_followed == []


def test_passes_end_on_a_taper_and_at_the_end_of_a_low_shape():
    """A taper from X20 Z0 to X40 Z-30; the contour ends at X40, so passes above it go as far as it goes."""
    seen = run(HEAD + "G0 X60. Z2.\nG71 U4. R0.5\nG71 P10 Q20 F0.2\nN10 G0 X20.\nG1 Z0.\nN20 X40. Z-30.\nM30")
    cuts = [m for m in code(seen, "G71") if m.kind == "feed" and m.start[2] == 2.0]
    assert [(m.end[0], m.end[2]) for m in cuts[:4]] == [
        (52.0, -30.0),
        (44.0, -30.0),
        (36.0, pytest.approx(-24.0)),
        (28.0, pytest.approx(-12.0)),
    ]


FACE = "G0 X60. Z2.\nG72 W2. R1.\nG72 P10 Q20 U1. W0.2 F0.3\nN10 G0 Z-10.\nG1 X20.\nN20 Z2.\nM30"


def test_a_face_is_roughed_across():
    """Z2 to Z-10 in steps of 2, 0.2 left: 5 passes of 20 mm, then 20 + 12 mm."""
    seen = run(HEAD + FACE)
    assert seen.not_followed == []
    across = [m for m in code(seen, "G72") if m.kind == "feed" and m.start[2] == m.end[2]]
    assert [m.end[2] for m in across] == [pytest.approx(z) for z in (0.2, -1.8, -3.8, -5.8, -7.8, -9.8)]
    assert all(m.end[0] == pytest.approx(21.0) for m in across)
    assert seen.cut == pytest.approx(5 * 20 + 20 + 12)


def test_a_face_with_an_arc():
    seen = run(
        HEAD
        + "G0 X60. Z2.\nG72 W4. R0.5\nG72 P10 Q20 F0.3\nN10 G0 Z-18.\nG1 X40.\nG2 X0. Z2. R20.\nN20 G1 X0. Z2.\nM30"
    )
    ends = {m.end[2]: m.end[0] for m in code(seen, "G72") if m.kind == "feed" and m.start[0] == 60.0}
    assert seen.not_followed == []
    for z in (-2, -6, -10, -14):
        assert ends[z] == pytest.approx(2 * math.sqrt(400 - (z + 18) ** 2))


def test_the_first_block_stays_for_the_next_cycle():
    again = STEP.replace("G0 X100. Z50.\nM30", "G71 P30 Q40 F0.2\nN30 G0 X50.\nG1 Z-10.\nN40 X60.\nM30")
    seen = run(HEAD + again)
    assert levels(seen)[5:] == [56.0, 52.0, 50.0]


POCKET = "N10 G0 X40.\nG1 Z-10.\nX30. Z-20.\nX60. Z-30.\nN20 X60."


@pytest.mark.parametrize(
    ("contour", "why"),
    [
        (POCKET, "a contour that falls as well as rises"),
        ("N10 G0 X40. Z2.\nG1 Z-50.\nN20 X60.", "its first block names X and Z"),
        ("N10 G0 X40. W0.\nG1 Z-50.\nN20 X60.", "its first block names X and Z"),
        ("N10 G0 X40.\nG1 Z-50.\nZ-30.\nN20 X60. Z-60.", "a contour that falls as well as rises"),
        ("N10 G0 X40.\nG1 Z-10.\nG2 X40. Z-20. R10.\nN20 G1 X60.", "a contour that falls as well as rises"),
        ("N10 G0 X60.\nG1 Z-10.\nN20 X62.", "its contour leads nowhere"),
    ],
)
def test_what_is_not_roughed_is_named_and_its_contour_still_counts(contour, why):
    seen = run(HEAD + f"G0 X60. Z2.\nG71 U2. R1.\nG71 P10 Q20 U1. F0.3\n{contour}\nM30")
    (name,) = seen.not_followed
    assert name.startswith(f"G71 at line 6: {why}")
    assert name.endswith("; counted once along its contour")
    finish = run(HEAD + f"G0 X60. Z2.\nF0.3\nG70 P10 Q20\nM30\n{contour}")
    assert seen.cut == pytest.approx(finish.cut)
    x = [m.end[0] for m in code(seen, "G71") if m.kind != "rapid"]
    assert x == [pytest.approx(m.end[0] + 1) for m in code(finish, "G70") if m.kind != "rapid"]
    assert (seen.moves[-1].end[0], seen.moves[-1].end[2]) == (60.0, 2.0)


@pytest.mark.parametrize(
    ("first", "words", "why"),
    [
        ("", "U1.", "no depth of cut known"),
        ("G71 U0. R1.", "U1.", "no depth of cut"),
        ("G71 U0.0001 R1.", "U1.", "more than 10000 passes"),
        ("G71 U2. R1.", "U[#1]", "U is not known"),
        ("G71 U2. R1.", "U1. I1. K1.", "I and K ask for a pass that is not followed"),
        ("G71 U2. R1.", "U1. D[#1]", "D is not known"),
    ],
)
def test_depths_that_cannot_be(first, words, why):
    seen = run(HEAD + f"G0 X60. Z2.\n{first}\nG71 P10 Q20 {words} F0.3\nN10 G0 X40.\nG1 Z-50.\nN20 X60.\nM30")
    assert any(f": {why}; counted once along" in name for name in seen.not_followed)
    assert seen.cut == pytest.approx(62)


def test_a_contour_that_stands_elsewhere_is_not_jumped_over():
    seen = run(
        HEAD + "G0 X60. Z2.\nG71 U2. R1.\nG71 P10 Q20 F0.3\nG0 X99.\nM30\nN10 G0 X40.\nG1 Z-50.\nN20 X60."
    )
    assert levels(seen)[0] == 56.0
    assert seen.control.position[0] == 60.0


REPEAT = "G0 X60. Z5.\nG73 U9. W3. R4\nG73 P10 Q20 U1. W0.2 F0.3\nN10 G0 X40. Z2.\nG1 Z-50.\nN20 X60.\nM30"


def test_a_pattern_is_cut_in_equal_steps():
    """4 times 52 + 10 mm; shifted by 9, 6, 3 and 0 mm in the radius and 3, 2, 1, 0 along, beside the stock."""
    seen = run(HEAD + REPEAT)
    assert seen.not_followed == []
    assert seen.cut == pytest.approx(4 * 62)
    walls = [m.end for m in code(seen, "G73") if m.kind == "feed" and m.start[0] == m.end[0]]
    assert [(p[0], p[2]) for p in walls] == [
        (pytest.approx(40 + 1 + 2 * i), pytest.approx(-50 + 0.2 + k))
        for i, k in ((9, 3), (6, 2), (3, 1), (0, 0))
    ]
    assert (seen.moves[-1].end[0], seen.moves[-1].end[2]) == (60.0, 5.0)


def test_a_pattern_in_one_block():
    seen = run(HEAD + REPEAT.replace("G73 U9. W3. R4\n", "").replace("W0.2 F", "W0.2 I9. K3. D4 F"))
    assert seen.not_followed == []
    assert seen.path == run(HEAD + REPEAT).path


@pytest.mark.parametrize(
    ("first", "why"),
    [
        ("G73 U9. W3. R1", "a number of passes that is not a whole one above 1"),
        ("G73 U9. W3. R2.5", "a number of passes that is not a whole one above 1"),
        ("G73 U9. W3. R9999", "a number of passes that is not a whole one above 1"),
        ("G73 R4", "no shift or number of passes known"),
        ("", "no shift or number of passes known"),
    ],
)
def test_a_pattern_that_cannot_be_repeated(first, why):
    seen = run(HEAD + REPEAT.replace("G73 U9. W3. R4", first))
    assert seen.not_followed[0].startswith(f"G73 at line 6: {why}; counted once along")
    assert seen.cut == pytest.approx(62)


def test_g70_without_a_contour_and_with_stock():
    seen = run(HEAD + "G0 X60. Z5.\nG70\nG70 P10 Q20 U1. F0.1\nM30\nN10 G0 X40. Z2.\nG1 Z-50.\nN20 X60.")
    assert seen.not_followed == ["G70 at line 5: no P and Q", "G70 at line 6: U or W beside it"]
    assert seen.cut == pytest.approx(62)


def test_a_tool_of_unknown_place_does_not_rough():
    seen = run(HEAD + "G71 U2. R1.\nG71 P10 Q20 U1. F0.3\nN10 G0 X40.\nG1 Z-50.\nN20 X60.\nM30")
    assert seen.not_followed == ["G71 at line 5: where X Z stand is not known"]
    assert seen.moves == []


def test_moves_of_cycles_are_bounded_as_blocks_are():
    seen = run(HEAD + STEP, most_blocks=15)
    assert seen.not_followed == ["G71 at line 6: left after 15 moves of cycles"]
    assert len(code(seen, "G71")) == 15
    assert seen.moves[-1].code == "G0"
    assert seen.moves[-1].length is None
