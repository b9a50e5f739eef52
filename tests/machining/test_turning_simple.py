"""G90 and G94, G74 and G75: lengths and places by hand."""

import math

import pytest

from tests.fakes.lathe import run

HEAD = "G21 G18 G99\nG97 S1000 M3\nT0101\nG0 X52. Z2.\n"


def feeds(seen):
    return [move for move in seen.moves if move.kind == "feed"]


def end(move):
    return move.end[0], move.end[2]


def test_g90_cuts_along_and_out_and_stays_in_force():
    """Each pass: 32 mm along, then out to X52."""
    seen = run(HEAD + "G90 X48. Z-30. F0.2\nX44.\nX40.\nG0 X100.\nM30")
    assert [move.length for move in feeds(seen)] == [32, 2, 32, 4, 32, 6]
    assert [move.kind for move in seen.moves[1:5]] == ["rapid", "feed", "feed", "rapid"]
    assert end(seen.moves[1]) == (48.0, 2.0)
    assert end(seen.moves[4]) == (52.0, 2.0)
    assert seen.minutes == pytest.approx(108 / 200)
    assert seen.not_followed == []
    assert end(seen.moves[-1]) == (100.0, 2.0)


def test_g90_with_steps_counted_from_the_start():
    seen = run(HEAD + "G90 U-4. W-32. F0.2\nU-8.\nM30")
    assert [end(move) for move in feeds(seen)] == [(48.0, -30.0), (52.0, -30.0), (44.0, -30.0), (52.0, -30.0)]


@pytest.mark.parametrize("letter", ["R", "I"])
def test_g90_with_a_taper(letter):
    """R is the radius at the start less the radius at the end of the cut."""
    seen = run(HEAD + f"G90 X48. Z-30. {letter}-4. F0.2\nM30")
    assert end(seen.moves[1]) == (40.0, 2.0)
    assert feeds(seen)[0].length == pytest.approx(math.hypot(32, 4))


def test_a_taper_stays_until_the_cycle_ends():
    seen = run(HEAD + "G90 X48. Z-30. R-4. F0.2\nX46.\nG0 X52.\nG90 X48. Z-30.\nM30")
    starts = [move.start[0] for move in feeds(seen) if move.end[2] == -30 and move.start[2] == 2]
    assert starts == [40.0, 38.0, 48.0]


@pytest.mark.parametrize("letter", ["R", "K"])
def test_g94_faces(letter):
    seen = run(HEAD + f"G94 X10. Z-2. F0.2\nZ-4.\nZ-6. {letter}-1.\nM30")
    assert [move.length for move in feeds(seen)] == [
        21,
        4,
        21,
        6,
        pytest.approx(math.hypot(21, 1)),
        8,
    ]
    assert end(seen.moves[1]) == (52.0, -2.0)
    assert end(seen.moves[9]) == (52.0, -7.0)
    assert end(seen.moves[-1]) == (52.0, 2.0)


def test_a_cycle_without_axis_words_does_nothing():
    seen = run(HEAD + "G90\nG90 X48. Z-30. F0.2\nM8\nS900\nM30")
    assert len(feeds(seen)) == 2


def test_a_cycle_whose_word_is_not_known():
    seen = run(HEAD + "G90 X48. Z-30. R[#1] F0.2\nM30")
    assert seen.not_followed == ["G90 at line 5: where X Z stand or are to go is not known"]


def test_pecks_along_the_axis_are_a_hole():
    """To Z-30 from Z2 in pecks of 10, back 1: 32 mm and 3 times 1 mm again."""
    seen = run(HEAD + "G0 X0.\nG74 R1.\nG74 Z-30. Q10000 F0.1\nM30")
    assert [end(move)[1] for move in feeds(seen)] == [-8.0, -18.0, -28.0, -30.0]
    assert seen.cut == pytest.approx(35)
    assert [move.hole for move in feeds(seen)] == [True, False, False, False]
    assert end(seen.moves[-1]) == (0.0, 2.0)
    assert seen.not_followed == []


def test_a_hole_in_one_go():
    seen = run(HEAD + "G0 X0.\nG74 Z-30. F0.1\nM30")
    assert [end(move) for move in feeds(seen)] == [(0.0, -30.0)]
    assert seen.not_followed == []


def test_rows_of_pecks_across_a_face():
    """X52 to X40 in steps of 4 mm (radius): rows at X52, X44, X40; 12 mm deep in two pecks of 6, back 0.5."""
    seen = run(HEAD + "G74 R0.5\nG74 X40. Z-10. P4000 Q6000 F0.1\nM30")
    assert sorted({move.end[0] for move in feeds(seen)}, reverse=True) == [52.0, 44.0, 40.0]
    assert seen.cut == pytest.approx(3 * 12.5)
    assert not any(move.hole for move in feeds(seen))


def test_rows_draw_aside_at_the_bottom():
    seen = run(HEAD + "G74 R0.5\nG74 X40. Z-10. P4000 Q6000 R0.3 F0.1\nM30")
    assert (44.6, -10.0) in [end(move) for move in seen.moves]
    assert (52.6, -10.0) not in [end(move) for move in seen.moves]
    assert end(seen.moves[-1]) == (52.0, 2.0)
    assert seen.cut == pytest.approx(3 * 12.5)


GROOVE = "G0 Z-20.\nG75 R0.5\nG75 X40. Z-26. P3000 Q2000 F0.1\nM30"


def test_a_groove():
    """6 mm deep in two pecks of 3, back 0.5; rows 2 mm apart over 6 mm: 4 rows."""
    seen = run(HEAD + GROOVE)
    assert seen.cut == pytest.approx(4 * 6.5)
    assert sorted({move.end[2] for move in feeds(seen)}) == [-26.0, -24.0, -22.0, -20.0]
    assert [end(move)[0] for move in feeds(seen)[:2]] == [46.0, 40.0]
    assert end(seen.moves[-1]) == (52.0, -20.0)


def test_a_groove_in_one_block():
    seen = run(HEAD + "G0 Z-20.\nG75 X40. Z-26. I3. K2. F0.1\nM30")
    assert seen.cut == pytest.approx(4 * 6)
    assert seen.not_followed == [
        "G75 at line 6: the control sets how far it draws back, lengths are without it"
    ]


def test_one_groove():
    seen = run(HEAD + "G0 Z-20.\nG75 R0.5\nG75 X40. P2500 F0.1\nM30")
    assert [end(move) for move in feeds(seen)] == [(47.0, -20.0), (42.0, -20.0), (40.0, -20.0)]


@pytest.mark.parametrize(
    ("block", "why"),
    [
        ("G74 X40. Z-10. Q6000", "no step between its rows known"),
        ("G74 X40. Z-10. P[#1] Q6000", "P or Q is not known"),
        ("G74 Z-10. Q1", "more than 10000 pecks"),
        ("G75 X[#1] P1000", "where X Z stand or are to go is not known"),
    ],
)
def test_pecks_that_are_named_only(block, why):
    seen = run(HEAD + f"G74 R0.5\n{block} F0.1\nM30")
    assert len(seen.not_followed) == 1
    assert why in seen.not_followed[0]
    assert feeds(seen) == []


def test_pecks_without_units_are_not_known():
    seen = run("G99 G97 S500\nG0 X0. Z2.\nG74 R1.\nG74 Z-30. Q10000 F0.1\nM30")
    assert seen.not_followed == ["G74 at line 4: P or Q is not known"]
