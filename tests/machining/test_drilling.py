"""Drilling cycles: "The NIST RS274/NGC Interpreter - Version 3", NISTIR 6556 (2000), sections 3.5.16 and 3.5.20."""

import pytest

from tests.fakes.run_log import ran, summed
from tracker.machining.watch import DWELL, FEED, RAPID

INCH = "G20 G17 G90 G98 F10\n"


def holes(log):
    return sum(move.hole for _, move in log.moves)


def test_example_1_of_section_3_5_16_2():
    log = ran("G90 G81 G98 X4 Y5 Z1.5 R2.8", start=(1.0, 2.0, 3.0))
    assert log.ends() == [(4, 5, 3), (4, 5, 2.8), (4, 5, 1.5), (4, 5, 3)]
    assert [move.kind for _, move in log.moves] == [RAPID, RAPID, FEED, RAPID]
    assert log.length(FEED) == pytest.approx(1.3)
    assert log.length(RAPID) == pytest.approx(18**0.5 + 0.2 + 1.5)


def test_example_2_of_section_3_5_16_2():
    log = ran("G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3", start=(1.0, 2.0, 3.0))
    assert log.ends()[0] == (1, 2, pytest.approx(4.8))
    bottoms = [move.end[:3] for _, move in log.moves if move.kind == FEED]
    assert bottoms == [pytest.approx((x, y, 4.2)) for x, y in ((5, 7), (9, 12), (13, 17))]
    assert holes(log) == 3
    assert log.length(FEED) == pytest.approx(1.8)
    assert log.control.position[2] == pytest.approx(4.8)


@pytest.mark.parametrize(("words", "z"), [("g81 x1 y1 z-1 r1", 2.0), ("g81 x1 y1 z-1 r1\nx1 y2 z.5 r3", 3.0)])
def test_g98_goes_back_to_where_it_was_unless_r_is_higher(words, z):
    # LinuxCNC, tests/interp, canned cycles of G17 with G98 from Z2
    assert ran(INCH + words, start=(0.0, 0.0, 2.0)).control.position[2] == z


def test_g99_goes_back_to_r():
    assert ran(INCH + "G99 G81 X1 Y1 Z-1 R0.1", start=(0.0, 0.0, 2.0)).control.position[2] == 0.1


def test_depth_above_r_is_no_hole():
    log = ran(INCH + "G81 X1 Y1 Z1 R0.5", start=(0.0, 0.0, 2.0))
    assert holes(log) == 0
    assert log.not_followed == ["G81 at line 2: its depth is above R"]


def test_pecks_of_g83():
    # Appendix C.3 has r0.2 z-1.1 q0.21: 1.3 / 0.21 = 6.19, so seven pecks, the last 0.04
    log = ran(INCH + "G83 X5 Y6 R0.2 Z-1.1 Q0.21", start=(5.0, 6.0, 1.0))
    assert holes(log) == 1
    feeds = log.of(FEED)
    assert len(feeds) == 7
    assert [move.end[2] for move in feeds] == pytest.approx([-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1])
    # after the first, every peck begins 0.010 in above where the one before ended (LinuxCNC documentation, G83)
    assert [move.start[2] for move in feeds[1:]] == pytest.approx([0, -0.21, -0.42, -0.63, -0.84, -1.05])
    backs = [move for move in log.of(RAPID) if move.end[2] == 0.2]
    assert len(backs) == 7  # once down to R, and back to it between pecks


def test_pecks_that_come_out_even():
    assert len(ran("G21 G90 G98 F9\nG83 X0 Y0 R1.2 Z0 Q0.4", start=(0.0, 0.0, 5.0)).of(FEED)) == 3


def test_g73_only_breaks_the_chip():
    # LinuxCNC documentation, G73: back by 0.010 inch or 0.254 mm
    log = ran("G21 G17 G90 G98 F100\nG73 X0 Y0 R1 Z-2 Q1", start=(0.0, 0.0, 5.0))
    assert [round(end[2], 3) for end in log.ends()] == [1, 0, 0.254, -1, -0.746, -2, 5]
    assert log.length(FEED) == pytest.approx(3 + 2 * 0.254)


@pytest.mark.parametrize("q", ["", "Q0", "Q-1"])
def test_pecks_without_a_size_are_named_and_the_hole_still_counts(q):
    log = ran(INCH + f"G83 X0 Y0 R0.1 Z-1 {q}", start=(0.0, 0.0, 1.0))
    assert holes(log) == 1
    assert len(log.not_followed) == 1
    assert log.of(FEED)[-1].end[2] == -1


def test_g82_waits():
    # Appendix C.3: p902.61 is that many seconds
    log = ran(INCH + "G82 X0 Y0 R0.1 Z-1 P902.61", start=(0.0, 0.0, 1.0))
    (wait,) = log.of(DWELL)
    assert wait.minutes == pytest.approx(902.61 / 60)
    assert wait.end[2] == -1


@pytest.mark.parametrize("code", ["G84", "G74", "G85", "G89"])
def test_cycles_that_feed_back_out(code):
    # sections 3.5.16.6, .7 and .11; to R as in the LinuxCNC documentation
    log = ran(INCH + f"{code} X0 Y0 R0.1 Z-1", start=(0.0, 0.0, 1.0))
    assert log.length(FEED) == pytest.approx(2.2)
    assert log.ends()[-1][2] == 1


@pytest.mark.parametrize("code", ["G81", "G82", "G86", "G76"])
def test_cycles_that_come_out_on_rapid(code):
    log = ran(INCH + f"{code} X0 Y0 R0.1 Z-1", start=(0.0, 0.0, 1.0))
    assert log.length(FEED) == pytest.approx(1.1)
    assert log.of(RAPID)[-1].end[2] == 1


def test_g88_stops_for_the_operator():
    log = ran(INCH + "G88 X0 Y0 R0.1 Z-1", start=(0.0, 0.0, 1.0))
    assert log.told("stop") == ["G88"]
    assert log.length(FEED) == pytest.approx(1.1)


def test_back_boring_by_i_j_k():
    # section 3.5.16.9: beside the hole, down, over it, up to K, down again, beside, out, over it
    log = ran(INCH + "G87 X0 Y0 R0.5 Z-1 I0.1 J0 K-0.4", start=(0.0, 0.0, 1.0))
    assert log.length(FEED) == pytest.approx(1.2)
    assert log.ends(0, 2)[-5:] == [(0, -0.4), (0, -1), (0.1, -1), (0.1, 1), (0, 1)]


def test_back_boring_otherwise_is_named():
    assert ran(INCH + "G87 X0 Y0 R-1 Z-0.5 Q0.1", start=(0.0, 0.0, 1.0)).not_followed == [
        "G87 at line 2: not by I, J and K"
    ]


def test_words_stay_until_the_cycle_ends():
    log = ran(INCH + "G81 X1 Y1 Z-1 R0.1\nX2\nX3 Z-0.5\nG80\nG0 X4", start=(0.0, 0.0, 1.0))
    assert [move.end[2] for move in log.of(FEED)] == [-1, -1, -0.5]
    assert log.ends()[-1] == (4, 1, 1)


def test_a_rapid_ends_the_cycle_too():
    log = ran(INCH + "G81 X1 Y1 Z-1 R0.1\nG0 X4\nX5", start=(0.0, 0.0, 1.0))
    assert len(log.of(FEED)) == 1


def test_repeats_of_k_on_macro_type_controls():
    assert holes(ran(INCH + "G81 G91 X1 Y0 Z-1 R-0.9 K4", start=(0.0, 0.0, 1.0))) == 4


@pytest.mark.parametrize("word", ["L0", "K0"])
def test_remembered_and_not_drilled(word):
    log = ran(INCH + f"G81 X1 Y1 Z-1 R0.1 {word}\nX2", start=(0.0, 0.0, 1.0))
    assert holes(log) == 1
    assert log.of(FEED)[0].end[:2] == (2, 0)
    assert log.told("guess") != []


def test_the_hole_counts_of_appendix_c_3():
    # one hole, then X1 Y0 R0 G91 L3 three more, then one more; G82: 1 + 1 + 4
    text = INCH + (
        "G81 X1 Y1 Z-1 R0.5\nG91 X1 Y0 R0 Z-0.5 L3\nG90 X9 R0.2 Z-1\n"
        "G82 X1 Y2 Z-1 R0.5 P1.\nX2\nG91 X1 Y0 R0 Z-0.5 L4\nG80\n"
    )
    log = ran(text, start=(0.0, 0.0, 1.0))
    by_code = [move.code for _, move in log.moves if move.hole]
    assert (by_code.count("G81"), by_code.count("G82")) == (5, 6)


@pytest.mark.parametrize(
    ("plane", "words", "end"),
    [("G18", "X1 Z2 Y-1 R0.1", (1, -1, 2)), ("G19", "Y1 Z2 X-1 R0.1", (-1, 1, 2))],
)
def test_other_planes(plane, words, end):
    # section 3.5.16: the cycle goes along the axis that is not in the plane
    log = ran(f"G20 G90 G98 F10 {plane}\nG81 {words}", start=(1.0, 1.0, 1.0))
    (feed,) = log.of(FEED)
    assert feed.end[:3] == end
    assert log.length(FEED) == pytest.approx(1.1)


def test_tapping_feed_is_speed_times_lead():
    # section 3.5.16.7: feed is speed times lead (F150 for two threads to the mm at S300); 1/4-20 at S500 is F25
    told = summed(INCH + "T1 M6\nS500 M3 F25\nG0 X0 Y0 Z1\nG84 X0 Y0 Z-0.5 R0.1\nG80\nM30")
    (tool,) = told.tools
    assert (tool.feed_max, tool.rpm_max) == (25, 500)
    assert tool.feed_max == tool.rpm_max / 20
    assert tool.cutting_minutes == pytest.approx(2 * 0.6 / 25)


def test_below_r_the_tool_goes_up_first():
    log = ran(INCH + "G81 X1 Y1 Z-2 R0.1", start=(0.0, 0.0, -1.0))
    assert log.ends()[0] == (0, 0, 0.1)
    assert log.ends()[-1] == (1, 1, 0.1)


def test_without_a_depth_it_is_named():
    assert ran(INCH + "G81 X1 Y1 R0.1", start=(0.0, 0.0, 1.0)).not_followed == [
        "G81 at line 2: its depth is not known"
    ]


@pytest.mark.parametrize(
    ("words", "named"),
    [
        ("G81 X1 Y0 R0.1 Z-1 L999999999", "G81 at line 2: more than 10000 times"),
        ("G81 X1 Y0 R0.1 Z-1 L20000", "G81 at line 2: more than 10000 times"),
        ("G83 X1 Y0 R0.1 Z-1 Q0.00001", "G83 at line 2: more than 10000 pecks"),
        ("G81 X1 Y0 R0.1 Z-1 L" + "9" * 400, "L at line 2: a figure no machine has"),
    ],
)
def test_cycles_without_an_end_are_bounded(words, named):
    log = ran(INCH + words, start=(0.0, 0.0, 1.0))
    assert log.not_followed[:1] == [named]
    assert len(log.moves) <= 40_003


def test_moves_of_cycles_end_with_what_may_be_run():
    log = ran(INCH + "G81 X1 Y0 R0.1 Z-1 L500\nX2 L500\nG0 X9", start=(0.0, 0.0, 1.0), most_blocks=300)
    assert log.not_followed == ["G81 at line 2: cycles have made 303 moves; no more are followed"]
    assert len(log.moves) < 400


def test_from_an_unknown_height_it_is_not_known_where_the_tool_is_drawn_back_to():
    log = ran(INCH + "G0 X0 Y0\nG81 X1 Z-1 R0.1\nX2")
    assert holes(log) == 2
    assert log.control.position[2] is None


def test_a_turned_table_between_holes():
    log = ran(INCH + "G81 X0 Y0 Z-1 R0.1 A0\nA90", start=(0.0, 0.0, 1.0))
    assert holes(log) == 2
    assert log.control.position[3] == 90


def test_a_row_under_g91_keeps_the_levels_stated_under_g90():
    # macro-type controls, common practice, no source: the first block only remembers, G91 steps along the row
    log = ran("G90 G99 G81 Z-5 R2 F100 K0\nG91 X10 K3\nG90 X50", start=(0.0, 0.0, 10.0))
    feeds = log.of(FEED)
    assert [(move.start[2], move.end[2]) for move in feeds] == [(2.0, -5.0)] * 4
    assert [move.end[0] for move in feeds] == [10.0, 20.0, 30.0, 50.0]
    assert [
        guess for guess in log.told("guess") if "its R and depth are taken to stay where they are" in guess
    ]


def test_levels_stated_again_count_by_the_mode_of_their_block():
    log = ran("G90 G99 G81 X0 Z-5 R2 F100\nG91 X10 Z-9 R-8\nX10 Z-3", start=(0.0, 0.0, 10.0))
    assert [(move.start[2], move.end[2]) for move in log.of(FEED)] == [(2.0, -5.0), (2.0, -7.0), (2.0, -1.0)]
    assert not [guess for guess in log.told("guess") if "R and depth" in guess]


def test_k_of_pecks_that_grow_smaller_is_no_number_of_holes():
    # macro-type controls, common practice, no source: I the first peck, J by how much less, K the least
    log = ran("G90 G98 G91 G83 X5 Z-11 R-9 I4 J1 K2 F100\nG80", start=(0.0, 0.0, 10.0))
    assert holes(log) == 1
    assert log.control.position[0] == 5.0
    assert log.not_followed == ["G83 at line 1: its Q is not known"]
