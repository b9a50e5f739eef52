"""Spindle speed from cutting speed and diameter, and minutes under it, against formulas and against fine sums."""

import math

import pytest

from tracker.machining.turning_shape import Leg, length
from tracker.machining.turning_speed import (
    PER_MINUTE,
    PER_REVOLUTION,
    minutes,
    radii,
    speeds,
    spindle,
)


def metric(speed, **more):
    return spindle(speed, surface=True, units="mm", base="mm", **more)


def inch(speed, **more):
    return spindle(speed, surface=True, units="inch", base="inch", **more)


@pytest.mark.parametrize(("diameter", "rpm"), [(30.0, 2652.6), (20.0, 3978.9), (1.0, 79577.5)])
def test_speed_is_1000_v_by_pi_d(diameter, rpm):
    assert metric(250.0).at(diameter / 2) == pytest.approx(rpm, abs=0.05)


def test_speed_in_metres_a_minute_by_hand():
    assert metric(25.0).at(6.0) == pytest.approx(663.146, abs=0.001)


def test_speed_is_12_v_by_pi_d_in_feet_and_inches():
    assert inch(450.0).at(0.1875) == pytest.approx(4583.66, abs=0.01)
    assert inch(100.0).at(0.25) == pytest.approx(763.94, abs=0.01)


def test_feet_a_minute_with_lengths_kept_in_mm_and_the_other_way():
    in_mm = spindle(450.0, surface=True, units="inch", base="mm")
    assert in_mm.at(0.1875 * 25.4) == pytest.approx(4583.66, abs=0.01)
    in_inch = spindle(250.0, surface=True, units="mm", base="inch")
    assert in_inch.at(15.0 / 25.4) == pytest.approx(2652.6, abs=0.05)


def test_the_least_limit_holds():
    assert metric(250.0, limit=2000.0, most=3500.0).at(15.0) == 2000.0
    assert metric(250.0, limit=5000.0, most=3500.0).at(5.0) == 3500.0
    assert metric(250.0, limit=2000.0).at(50.0) == pytest.approx(795.77, abs=0.01)


def test_the_centre_turns_at_the_limit_and_without_one_is_not_known():
    assert metric(250.0, limit=2000.0).at(0.0) == 2000.0
    assert metric(250.0).at(0.0) is None


def test_a_fixed_speed_does_not_depend_on_the_diameter():
    fixed = spindle(800.0, surface=False, units="mm", base="mm", limit=500.0)
    assert fixed.at(0.0) == fixed.at(40.0) == 800.0
    assert spindle(8000.0, surface=False, units=None, base=None, most=3000.0).at(1.0) == 3000.0


def test_without_units_a_cutting_speed_says_nothing():
    assert spindle(250.0, surface=True, units=None, base=None).at(10.0) is None


def summed(leg, feed, turning, steps=50_000):
    """Minutes as a sum of many short straight pieces, each at the speed of its middle."""
    total = 0.0
    at = leg.start
    for step in range(1, steps + 1):
        there = _along(leg, step / steps)
        middle = (at[1] + there[1]) / 2
        piece = math.hypot(there[0] - at[0], there[1] - at[1])
        total += piece / (feed * turning.at(middle))
        at = there
    return total


def _along(leg, part):
    if leg.centre is None:
        return tuple(a + part * (b - a) for a, b in zip(leg.start, leg.end, strict=True))
    first = math.atan2(leg.start[1] - leg.centre[1], leg.start[0] - leg.centre[0])
    last = math.atan2(leg.end[1] - leg.centre[1], leg.end[0] - leg.centre[0])
    turn = (first - last) % (2 * math.pi) if leg.clockwise else (last - first) % (2 * math.pi)
    angle = first + (-1 if leg.clockwise else 1) * part * turn
    size = math.dist(leg.start, leg.centre)
    return leg.centre[0] + size * math.cos(angle), leg.centre[1] + size * math.sin(angle)


def test_facing_without_reaching_the_limit_by_the_formula():
    """t = pi (D1^2 - D2^2) / (4000 V f)."""
    leg = Leg(start=(0.0, 50.0), end=(0.0, 10.0))
    took = minutes(leg, 0.2, PER_REVOLUTION, metric(200.0, limit=5000.0))
    assert took == pytest.approx(math.pi * (100**2 - 20**2) / (4000 * 200 * 0.2))
    assert took == pytest.approx(0.188496, abs=1e-6)


LEGS = {
    "facing to the centre": Leg(start=(0.0, 50.0), end=(0.0, 0.0)),
    "facing past the centre": Leg(start=(0.0, 23.0), end=(0.0, -0.8)),
    "from below the axis": Leg(start=(0.0, -20.0), end=(3.0, 30.0)),
    "a taper": Leg(start=(0.0, 3.0), end=(-40.0, 20.0)),
    "along the axis": Leg(start=(0.0, 12.0), end=(-40.0, 12.0)),
    "a ball nose": Leg(start=(0.0, 0.0), end=(-20.0, 20.0), centre=(-20.0, 0.0)),
    "a hollow": Leg(start=(0.0, 20.0), end=(-20.0, 40.0), centre=(0.0, 40.0), clockwise=True),
    "over the axis and back": Leg(start=(5.0, 2.0), end=(-5.0, 2.0), centre=(0.0, 4.0), clockwise=True),
    "nearly a whole turn": Leg(start=(5.0, 2.0), end=(5.0, 2.1), centre=(0.0, 2.05), clockwise=True),
}


@pytest.mark.parametrize("name", LEGS)
@pytest.mark.parametrize("limit", [400.0, 2500.0, 20_000.0])
def test_minutes_in_closed_form_agree_with_a_fine_sum(name, limit):
    turning = metric(180.0, limit=limit)
    took = minutes(LEGS[name], 0.25, PER_REVOLUTION, turning)
    assert took == pytest.approx(summed(LEGS[name], 0.25, turning), rel=2e-6)


def test_the_centre_without_a_limit_has_no_minutes():
    assert minutes(LEGS["facing to the centre"], 0.2, PER_REVOLUTION, metric(180.0)) is None
    assert minutes(LEGS["from below the axis"], 0.2, PER_REVOLUTION, metric(180.0)) is None
    assert minutes(LEGS["a taper"], 0.2, PER_REVOLUTION, metric(180.0)) is not None


def test_feed_per_minute_does_not_ask_for_a_speed():
    assert minutes(LEGS["along the axis"], 80.0, PER_MINUTE, metric(None)) == pytest.approx(0.5)


def test_what_is_not_known_has_no_minutes():
    leg = LEGS["along the axis"]
    assert minutes(leg, None, PER_MINUTE, metric(100.0)) is None
    assert minutes(leg, 0.0, PER_MINUTE, metric(100.0)) is None
    assert minutes(leg, 0.2, None, metric(100.0)) is None
    assert minutes(leg, 0.2, PER_REVOLUTION, spindle(None, surface=False, units="mm", base="mm")) is None
    assert minutes(leg, 0.2, PER_REVOLUTION, spindle(0.0, surface=False, units="mm", base="mm")) is None
    assert minutes(leg, 0.2, PER_REVOLUTION, metric(0.0)) is None


def test_a_thread_takes_its_lead_a_turn_in_any_feed_mode():
    fixed = spindle(500.0, surface=False, units="mm", base="mm")
    thread = Leg(start=(2.0, 10.0), end=(-28.0, 10.0), thread=True)
    for mode in (None, PER_MINUTE, PER_REVOLUTION):
        assert minutes(thread, 1.5, mode, fixed) == pytest.approx(30 / 1.5 / 500)
    tapered = Leg(start=(2.0, 10.0), end=(-28.0, 12.0), thread=True)
    assert minutes(tapered, 1.5, None, fixed) == pytest.approx(30 / 1.5 / 500)


def test_speeds_along_a_leg():
    slow, fast = speeds(Leg(start=(0.0, 20.0), end=(0.0, 10.0)), metric(250.0))
    assert (slow, fast) == (pytest.approx(1989.4, abs=0.1), pytest.approx(3978.9, abs=0.1))
    assert speeds(LEGS["facing to the centre"], metric(250.0)) is None
    assert speeds(LEGS["facing past the centre"], metric(250.0, limit=2500.0))[1] == 2500.0


def test_distances_from_the_axis():
    assert radii(LEGS["facing past the centre"]) == (0.0, 23.0)
    assert radii(LEGS["nearly a whole turn"]) == (0.0, pytest.approx(2.05 + math.hypot(5, 0.05)))
    assert radii(Leg(start=(5.0, 10.0), end=(-5.0, 10.0), centre=(0.0, 10.0))) == (10.0, 15.0)
    assert length(LEGS["a ball nose"]) == pytest.approx(10 * math.pi)
