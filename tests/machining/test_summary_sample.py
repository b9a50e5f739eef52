"""The sample shop's programs: figures worked out by hand from their texts."""

import math
from pathlib import Path

import pytest

from tests.fakes.run_log import summed

SHOP = Path(__file__).parents[2] / "sample_repo"


def program(name):
    return (SHOP / name).read_bytes()


def op10(revision):
    contour = program("shop/jobs/4471/sub/O1002.nc")
    return summed(program(f"texts/O1001-r{revision}.nc"), called={1002: contour}.get)


@pytest.fixture(scope="module")
def plate():
    return op10(5)


def tool(summary, number):
    (found,) = [one for one in summary.tools if one.tool == number]
    return found


def test_everything_is_followed(plate):
    assert plate.not_followed == ()
    assert plate.guesses == ()
    assert (plate.units, plate.lathe) == ("inch", False)
    assert plate.order == ("1", "2", "3", "4", "5", "6")
    assert plate.calls == ((1002, 4),)


@pytest.mark.parametrize(("number", "depth"), [("3", 0.80), ("4", 1.16), ("5", 0.85), ("6", 0.50)])
def test_deepest_cuts_of_op10(plate, number, depth):
    assert tool(plate, number).deepest_cut == -depth


def test_the_drill_was_less_deep_before():
    assert tool(op10(2), "5").deepest_cut == -0.81


def test_drill_point_leaves_full_diameter():
    # 0.300 x 0.201 of point at a depth of 0.81 leaves 0.750
    assert -tool(op10(2), "5").deepest_cut - 0.300 * 0.201 == pytest.approx(0.750, abs=0.0005)


def test_the_tap_feeds_its_lead(plate):
    tap = tool(plate, "6")
    assert tap.feed_max == pytest.approx(tap.rpm_max * 0.05) == 30
    # two holes, down and back over 0.7 each, at 30 inches a minute
    assert tap.cutting_minutes == pytest.approx(4 * 0.7 / 30)


def test_the_contour_of_t3(plate):
    # one pass: 16.5 straight and four quarters of radius 0.25; four passes, and 0.35 + 3 x 0.2 down
    end_mill = tool(plate, "3")
    one_pass = 16.5 + 4 * math.pi * 0.25 / 2
    assert end_mill.cutting_length == pytest.approx(4 * one_pass + 0.95)
    assert end_mill.cutting_minutes == pytest.approx(4 * one_pass / 60 + 0.95 / 20)
    assert (end_mill.x, end_mill.y) == ((-0.75, 4.0), (-0.75, 3.0))
    assert (end_mill.h, end_mill.d, end_mill.offsets) == ((3,), (3,), ("G54",))


def test_the_face_mill(plate):
    # down 0.15 at F20; across 6.8, up 1.8, back 6.8 at F40
    face = tool(plate, "1")
    assert face.cutting_length == pytest.approx(15.55)
    assert face.cutting_minutes == pytest.approx(0.15 / 20 + 15.4 / 40)
    assert (face.x, face.y) == ((-1.4, 5.4), (0.6, 2.4))
    assert (face.rpm_min, face.rpm_max, face.feed_min, face.feed_max) == (3000, 3000, 20, 40)


def test_holes_and_where_tools_begin(plate):
    assert [(one.tool, one.holes) for one in plate.tools] == [
        ("1", 0),
        ("2", 6),
        ("3", 0),
        ("4", 4),
        ("5", 2),
        ("6", 2),
    ]
    assert [(one.line, one.number) for one in plate.tools[:2]] == [(9, "N30"), (23, "N160")]
    assert tool(plate, "4").description == "5/16 DRILL"
    assert [one.h for one in plate.tools] == [(1,), (2,), (3,), (4,), (5,), (6,)]


def test_pecks_of_the_drill(plate):
    # 1.26 in steps of 0.15 is nine pecks; every one after the first begins 0.010 above
    assert tool(plate, "4").cutting_length == pytest.approx(4 * (1.26 + 8 * 0.010))


def test_rapids_across_stay_at_the_clearance(plate):
    assert [tool(plate, number).lowest_rapid for number in ("2", "4", "5", "6")] == [1, 1, 1, 1]


@pytest.mark.parametrize(
    ("revision", "deepest"),
    [("texts/O1201-r1.nc", (0.14, 0.16)), ("shop/jobs/4502/op10/O1201.nc", (0.13, 0.15))],
)
def test_deepest_cuts_of_the_insert(revision, deepest):
    summary = summed(program(revision))
    assert (tool(summary, "2").deepest_cut, tool(summary, "3").deepest_cut) == tuple(-one for one in deepest)
    # the first tool sweeps 3.8 six times, 1.85 in steps, and comes down 0.15
    assert tool(summary, "1").cutting_length == pytest.approx(6 * 3.8 + 1.85 + 0.15)
    assert summary.not_followed == ()


def test_the_pin_on_the_lathe():
    summary = summed(program("shop/jobs/4488/op10/O2101.nc"), lathe=None, decimal=None)
    assert summary.lathe is True
    assert "read as a lathe program, as its words suggest" in summary.guesses
    assert summary.units == "mm"
    assert min(one.deepest_cut for one in summary.tools) == -58
    assert [one.rpm_max for one in summary.tools] == [2500, 2500, 1500]  # the limits of G50
    assert [one.h for one in summary.tools] == [(1,), (2,), (3,)]
    assert summary.order == ("0101", "0202", "0303")
    parting = tool(summary, "0303")
    assert parting.cutting_length == pytest.approx((46 + 0.4) / 2)
    assert parting.feed_mode == "per-revolution"
