"""Programs written to mislead a reader, each worked out by hand; the arithmetic stands beside it.

Meanings of the words as in NISTIR 6556 (2000): R, Z and repeats of cycles under G91 (3.5.16), arcs (3.5.3), pecks and their
0.254 mm (3.5.16.3), G93 (3.5.19); the macro words as common practice, no source.
"""

from math import pi, sqrt

import pytest

from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise
from tracker.machining.summary import Summary

HEAD = "G21 G90 G17 G40 G49 G80 G94 G54\nT1 M6\n"


def told(body: str, *, head: str = HEAD, subs: str = "") -> Summary:
    return summarise(f"%\nO1\n{head}{body}M30\n{subs}%\n".encode(), Setting(decimal="calculator"))


def test_a_cycle_repeated_in_increments():
    """From Z20 R-18. is Z2, and Z-12. from there Z-10; G99 keeps the tool at Z2 from hole to hole."""
    (tool,) = told(
        "G0 X0. Y0. S1000 M3\nG43 H1 Z20.\nG91 G99 G81 X10. Y5. Z-12. R-18. L4 F100.\nG90 G80\nG0 Z20.\n"
    ).tools
    assert (tool.x, tool.y, tool.z) == ((10, 40), (5, 20), (-10, 2))
    assert (tool.holes, tool.cutting_length) == (4, 4 * 12)
    assert tool.rapid_length == pytest.approx(4 * sqrt(10**2 + 5**2) + 18 + 4 * 12 + 18)
    assert tool.cutting_minutes == pytest.approx(48 / 100)


def test_a_full_turn_of_a_helix_in_the_zx_plane():
    """A turn of radius 10 while Y rises by 6."""
    (tool,) = told("G18\nG0 X10. Y0. Z0. S1000 M3\nG1 X10. F200.\nG2 X10. Z0. Y6. I-10. K0.\n").tools
    assert tool.cutting_length == pytest.approx(sqrt((2 * pi * 10) ** 2 + 6**2))
    assert tool.x == pytest.approx((-10, 10))
    assert tool.y == pytest.approx((0, 6))
    assert tool.z == pytest.approx((-10, 10))


def test_a_negative_radius_goes_the_long_way_round():
    """From 0,0 to 1,1 with R-1. counter-clockwise: three quarters of a turn round 1,0, by way of 2,0 and 1,-1."""
    (tool,) = told("G0 X0. Y0. Z0. S1000 M3\nG1 F10.\nG3 X1. Y1. R-1.\n").tools
    assert tool.cutting_length == pytest.approx(1.5 * pi)
    assert tool.x == pytest.approx((0, 2))
    assert tool.y == pytest.approx((-1, 1))


def test_repeats_inside_repeats():
    """Three times: 10 in X, and twice 1 in Y."""
    subs = "O5\nG91 G1 X10.\nM98 P6 L2\nG90\nM99\nO6\nG91 G1 Y1.\nM99\n"
    summary = told("G0 X0. Y0. Z0. S1000 M3\nF100.\nM98 P5 L3\n", subs=subs)
    (tool,) = summary.tools
    assert (tool.x, tool.y, tool.cutting_length) == ((0, 30), (0, 6), 3 * (10 + 2))
    assert summary.calls == ((5, 3), (6, 6))


def test_a_shifted_zero_and_inches_in_the_middle():
    """G52: the place 0,0 is -100,-50 there. Taken back the tool stands at 100,50; 1 inch is 25.4 from zero; 20 in/min are 508."""
    (tool,) = told(
        "G0 X0. Y0. Z10. S1000 M3\nG52 X100. Y50.\nG1 X0. Y0. F500.\nG52 X0. Y0.\nG20\nG1 X1. Y1. F20.\n"
    ).tools
    there, back = sqrt(100**2 + 50**2), sqrt((100 - 25.4) ** 2 + (50 - 25.4) ** 2)
    assert tool.cutting_length == pytest.approx(there + back)
    assert tool.cutting_minutes == pytest.approx(there / 500 + back / 508)
    assert (tool.x, tool.y, tool.feed_max) == ((-100, 100), (-50, 50), pytest.approx(508))


def test_a_loop_over_a_square_and_a_jump_past_a_trap():
    """#1 = 0 to 4 gives 10,0 0,10 -10,0 0,-10 10,0: a radius and four sides of 10 times the root of 2; X999. is jumped over."""
    body = (
        "G0 X0. Y0. Z0. S1000 M3\nF120.\n#1=0\nWHILE [#1 LT 5] DO1\n#2=[10.*COS[#1*90.]]\n#3=[10.*SIN[#1*90.]]\n"
        "G1 X#2 Y#3\n#1=[#1+1]\nEND1\nIF [#1 EQ 5] GOTO 90\nG1 X999.\nN90\n"
    )
    (tool,) = told(body).tools
    assert tool.cutting_length == pytest.approx(10 + 4 * 10 * sqrt(2))
    assert tool.x == pytest.approx((-10, 10))
    assert tool.y == pytest.approx((-10, 10))


def test_arguments_are_each_call_s_own():
    """O8 goes to X10 (A is #1, F is #9), O9 to Y of A times B, 20; that O9 clears its #1 is nothing to O8, which stays at X10."""
    subs = "O8\nG1 X#1 F#9\nG65 P9 A[#1*#2]\nG1 X#1\nM99\nO9\nG1 Y#1\n#1=0\nM99\n"
    (tool,) = told("G0 X0. Y0. Z0. S1000 M3\nG65 P8 A10. B2. F60.\n", subs=subs).tools
    assert (tool.x, tool.y, tool.cutting_length) == ((0, 10), (0, 20), 30)
    assert tool.cutting_minutes == pytest.approx(0.5)


def test_pecks_and_their_way_back():
    """From R1. to Z-10. by 4: feeds of 4, 4.254 and 3.254; back to R each time, down again to 0.254 above, out to Z5. at last."""
    (tool,) = told("G0 X0. Y0. Z5. S1000 M3\nG98 G83 X10. Y0. Z-10. R1. Q4. F100.\n/ X20.\nG80\n").tools
    assert tool.holes == 2
    assert tool.cutting_length == pytest.approx(2 * (4 + 4.254 + 3.254))
    assert tool.rapid_length == pytest.approx(2 * (10 + 4 + 4 + 3.746 + 8 + 7.746 + 15))


def test_a_cycle_ends_with_the_rapid_of_the_next_tool():
    summary = told(
        "G0 X0. Y0. Z5. S1000 M3\nG81 X10. Y0. Z-10. R1. F100.\nT2 M6\nG0 X0. Y0. Z5.\nX30. Y30.\n"
    )
    first, second = summary.tools
    assert (first.holes, second.holes, second.cutting_length) == (1, 0, 0)
    assert second.rapid_length == pytest.approx(30 * sqrt(2))


def test_what_is_turned_is_not_reckoned():
    """Behind G68 nobody says where the tool is; after G69 its place is known again where it arrives."""
    summary = told("G0 X0. Y0. Z1. S1000 M3\nG68 X0. Y0. R45.\nG1 X1. F10.\nG69\nG1 X2.\n")
    (tool,) = summary.tools
    assert (tool.x, tool.y, tool.cutting_length) == ((2, 2), None, 0)
    assert any(why.startswith("G68 ") for why in summary.not_followed)


def test_inverse_time_between_feeds_and_a_compensated_path():
    """3 + 10 + 20 + 10 at 50, then 30 in half a minute (G93 F2.), then 30 at 60; half a second of waiting is told apart."""
    body = (
        "G0 X0. Y0. Z5. S500 M3\nG43 H10 Z3.\nG1 Z0. F50.\nG41 D10 X10. Y0.\nG91 Y20.\nG90 G40 X0.\nG93\n"
        "G1 X30. Y20. F2.\nG94\nG4 P500\nG1 X0. F60.\n"
    )
    summary = told(body)
    (tool,) = summary.tools
    assert tool.cutting_length == pytest.approx(3 + 10 + 20 + 10 + 30 + 30)
    assert tool.cutting_minutes == pytest.approx(43 / 50 + 0.5 + 0.5)
    assert summary.dwell_minutes == pytest.approx(0.5 / 60)
    assert (tool.h, tool.d) == ((10,), (10,))
