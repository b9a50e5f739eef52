"""Threads: depths by the rule of equal areas, passes, lengths, minutes."""

import math
from itertools import pairwise

import pytest

from tests.fakes.lathe import run
from tracker.machining.turning_thread import Thread, depths

HEAD = "G21 G18 G99\nG97 S800 M3\nT0303\nG0 X26. Z5.\n"


def feeds(seen):
    return [move for move in seen.moves if move.kind == "feed"]


def test_depths_grow_with_the_root_of_the_pass():
    found = depths(Thread(end=(-30.0, 8.0), height=1.534, first=0.4))
    assert len(found) == math.ceil((1.534 / 0.4) ** 2) == 15
    assert found[:-1] == tuple(pytest.approx(0.4 * math.sqrt(n)) for n in range(1, 15))
    assert found[-1] == 1.534
    areas = [b * b - a * a for a, b in pairwise(found[:-1])]
    assert areas == [pytest.approx(0.16)] * 13


def test_no_pass_takes_less_than_the_least_depth():
    """0.4 (root n - root n-1) falls below 0.1 from the fifth pass on: 0.8, then steps of 0.1 to 1.484."""
    found = depths(Thread(end=(-30.0, 8.0), height=1.534, first=0.4, least=0.1, finish=0.05, springs=2))
    by_root = [0.4 * math.sqrt(n) for n in (1, 2, 3, 4)]
    assert found == tuple(
        pytest.approx(d) for d in (*by_root, 0.9, 1.0, 1.1, 1.2, 1.3, 1.4, 1.484, 1.534, 1.534)
    )


def test_a_first_depth_as_deep_as_the_thread():
    assert depths(Thread(end=(0.0, 0.0), height=1.0, first=1.5)) == (1.0,)


@pytest.mark.parametrize(("height", "first"), [(0.0, 0.1), (1.0, 0.0), (-1.0, 0.1)])
def test_a_thread_without_depth(height, first):
    assert depths(Thread(end=(0.0, 0.0), height=height, first=first)) == "no height or no first depth"


def test_a_first_depth_by_a_slip():
    assert depths(Thread(end=(0.0, 0.0), height=1.0, first=0.001)) == "more than 1000 passes"


TWO = "G76 P010060 Q100 R0.05\nG76 X16.932 Z-30. P1534 Q400 F2.5\nM30"


def test_two_blocks():
    """11 passes to the allowance, 1 finishing pass; each 35 mm long, 35 / 2.5 turns."""
    seen = run(HEAD + TWO)
    assert seen.not_followed == []
    assert len(feeds(seen)) == 12
    assert [move.length for move in feeds(seen)] == [pytest.approx(35)] * 12
    assert seen.minutes == pytest.approx(12 * 35 / 2.5 / 800)
    assert feeds(seen)[0].end[0] == pytest.approx(16.932 + 2 * (1.534 - 0.4))
    assert feeds(seen)[-2].end[0] == pytest.approx(16.932 + 2 * 0.05)
    assert feeds(seen)[-1].end[0] == pytest.approx(16.932)
    assert (seen.moves[-1].end[0], seen.moves[-1].end[2]) == (26.0, 5.0)


def test_finishing_passes_draw_out_and_taper():
    """P031060: 3 finishing passes, drawn out over 1.0 lead; R-1: the start lies 1 mm nearer the axis."""
    seen = run(HEAD + "G76 P031060 Q100 R0.05\nG76 X16.932 Z-30. R-1. P1534 Q400 F2.5\nM30")
    assert len(feeds(seen)) == 2 * (11 + 3)
    along, out = feeds(seen)[-2:]
    assert along.start[0] == pytest.approx(16.932 - 2)
    assert along.end[2] == pytest.approx(-27.5)
    assert along.end[0] == pytest.approx(16.932 - 2 * 2.5 / 35)
    assert out.length == pytest.approx(2.5 * math.sqrt(2))
    assert out.end[0] > along.end[0]
    assert seen.minutes == pytest.approx(14 * 35 / 2.5 / 800)


def test_an_inner_thread_is_cut_outwards():
    seen = run(HEAD.replace("X26.", "X15.") + "G76 P020060 Q100 R0.05\nG76 X20. Z-30. P1534 Q400 F2.5\nM30")
    assert feeds(seen)[0].end[0] == pytest.approx(20 - 2 * (1.534 - 0.4))
    assert feeds(seen)[-1].end[0] == pytest.approx(20.0)
    assert len(feeds(seen)) == 13


def test_one_block_with_k_and_d():
    seen = run(HEAD + "G76 X16.932 Z-30. K1.534 D400 A60 F2.5\nM30")
    assert len(feeds(seen)) == 15
    assert feeds(seen)[-1].end[0] == pytest.approx(16.932)
    assert seen.not_followed == [
        "G76 at line 5: the control sets spring passes and least depth, lengths are without them"
    ]


def test_inch_thread_counts_ten_thousandths():
    seen = run("G20 G99 G97 S500\nG0 X1. Z0.2\nG76 P010060 Q50 R0.002\nG76 X0.8 Z-1. P600 Q200 F0.1\nM30")
    assert feeds(seen)[0].end[0] == pytest.approx(0.8 + 2 * (0.06 - 0.02))


@pytest.mark.parametrize(
    ("program", "why"),
    [
        ("G76 X16.9 Z-30. P1534 Q400 F2.5", "no block before it says how many finishing passes it has"),
        ("G76 P1.5 Q100 R0.05\nG76 X16.9 Z-30. P1534 Q400 F2.5", "no block before it says how many"),
        ("G76 P010060 Q100\nG76 X16.9 Z-30. P1534 Q400", "no lead"),
        ("G76 P010060 Q100\nG76 X16.9 Z-30. Q400 F2.", "P, Q or R is not known"),
        ("G76 P010060 Q100\nG76 X16.9 Z-30. P[#1] Q400 F2.", "P, Q or R is not known"),
        ("G76 P010060 Q100\nG76 X16.9 Z-30. P1534 Q0 F2.", "no height or no first depth"),
        ("G76 X16.9 Z-30. D400 F2.", "K, D or I is not known"),
        ("G76 X16.9 Z-30. K1.5 D400 P3 F2.", "way of coming in P3"),
    ],
)
def test_threads_that_are_named_only(program, why):
    seen = run(HEAD + program)
    assert len(seen.not_followed) == 1
    assert f": {why}" in seen.not_followed[0]
    assert feeds(seen) == []
    assert seen.control.position[0] == 26.0


def test_g92_stays_in_force_and_returns_to_its_start():
    seen = run(HEAD + "G92 X19. Z-30. F2.5\nX18.\nX17.2 R-0.5\nG0 X100.\nM30")
    assert [move.end[0] for move in feeds(seen)] == [19.0, 18.0, 17.2]
    assert [move.length for move in feeds(seen)] == [35.0, 35.0, pytest.approx(math.hypot(35, 0.5))]
    assert feeds(seen)[2].start[0] == pytest.approx(16.2)
    assert seen.minutes == pytest.approx(3 * 35 / 2.5 / 800)
    assert [move.kind for move in seen.moves[1:5]] == ["rapid", "feed", "rapid", "rapid"]
    assert seen.moves[-1].start[2] == 5.0


def test_g92_with_steps_from_the_start():
    seen = run(HEAD + "G92 U-7. W-35. F2.5\nU-8.\nM30")
    assert [(m.end[0], m.end[2]) for m in feeds(seen)] == [(19.0, -30.0), (18.0, -30.0)]


def test_g92_from_an_unknown_place_and_to_one():
    seen = run("G21 G99 G97 S500 T0101\nG92 X19. Z-30. F2.\nG0 X20. Z2.\nG92 X[#1] Z-30.\nM30")
    assert seen.not_followed == [
        "G92 at line 2: where X Z stand or are to go is not known",
        "G92 at line 4: where X Z stand or are to go is not known",
    ]
    assert feeds(seen) == []


def test_g32_takes_its_lead_in_any_feed_mode():
    seen = run("G21 G98 G97 S500\nG0 X20. Z5.\nG32 Z-25. F2.\nW-10.\nX24.\nM30")
    assert [m.minutes for m in feeds(seen)] == [
        pytest.approx(30 / 2 / 500),
        pytest.approx(10 / 2 / 500),
        pytest.approx(2 / 2 / 500),
    ]
    assert seen.not_followed == []


def test_a_thread_under_constant_cutting_speed():
    """S100 at X20: 1591.5 turns a minute."""
    seen = run("G21 G99 G96 S100\nG0 X20. Z5.\nG33 Z-25. F2.\nM30")
    assert seen.minutes == pytest.approx(30 / 2 / (100_000 / (math.pi * 20)))


def test_a_lead_that_changes_has_a_length_but_no_minutes():
    seen = run("G21 G99 G97 S500\nG0 X20. Z5.\nG34 Z-25. F2. K0.1\nM30")
    (cut,) = feeds(seen)
    assert (cut.length, cut.minutes) == (30.0, None)
    assert seen.not_followed == ["G34 at line 3: minutes of a lead that changes"]


def test_a_thread_from_an_unknown_place_is_named():
    seen = run("G21 G99 G97 S500 T0101\nG32 Z-25. F2.\nM30")
    assert seen.not_followed == ["G32 at line 2: from where X Z are not known"]
