"""The stepped pin of the sample shop: passes, lengths, minutes and extents by hand."""

import math

import pytest

from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise

ROOT2 = math.sqrt(2)
CONTOUR = 62 + 5 * ROOT2
"""3 root 2 + 19 + 3 + root 2 + 24 + 2 + root 2 + 12 + 2: from X18 Z2 along the shape to X42 Z-58."""


@pytest.fixture(scope="module")
def pin(project):
    text = (project / "sample_repo/shop/jobs/4488/op10/O2101.nc").read_bytes()
    return summarise(text, Setting(lathe=True, units="mm", decimal="calculator"))


def test_all_of_it_is_followed(pin):
    assert pin.not_followed == ()
    assert pin.guesses == ()
    assert pin.units == "mm"
    assert pin.order == ("0101", "0202", "0303")


def test_lengths_of_every_tool(pin):
    """T1: 4.9 + 23.8 facing, passes of 48, 47, 22, 22 and 2 mm, the shape; T2: 5 + 23.4, the shape; T3: 23.2."""
    passes = 48 + 47 + 22 + 22 + 2
    lengths = [tool.cutting_length for tool in pin.tools]
    assert lengths == [pytest.approx(x) for x in (28.7 + passes + CONTOUR, 28.4 + CONTOUR, 23.2)]


def test_extents(pin):
    rough, finish, part_off = pin.tools
    assert [tool.deepest_cut for tool in pin.tools] == [-57.9, -58.0, -58.0]
    assert (rough.x, rough.z) == ((-1.6, 46.0), (-57.9, 5.0))
    assert (finish.x, finish.z) == ((-0.8, 46.0), (-58.0, 5.0))
    assert (part_off.x, part_off.z) == ((-0.4, 46.0), (-58.0, -58.0))


def test_speeds_follow_the_diameter_up_to_the_limit(pin):
    assert [(tool.rpm_min, tool.rpm_max) for tool in pin.tools] == [
        (pytest.approx(180_000 / (math.pi * 46)), 2500.0),
        (pytest.approx(220_000 / (math.pi * 46)), 2500.0),
        (pytest.approx(100_000 / (math.pi * 46)), 1500.0),
    ]


def test_minutes_of_parting_off_by_formula(pin):
    """From X46 to X-0.4 at 100 m/min, 0.06 mm a turn, not above 1500 turns a minute."""
    edge = 100_000 / (2 * math.pi * 1500)
    outside = math.pi / (100_000 * 0.06) * (23**2 - edge**2)
    assert pin.tools[2].cutting_minutes == pytest.approx(outside + (edge + 0.2) / (0.06 * 1500))


def test_minutes_of_finishing_by_formula(pin):
    """220 m/min reaches 2500 turns a minute at X28.01: smaller diameters turn at 2500."""
    per = 2 * math.pi / 220_000
    edge = 1 / (2500 * per)
    start = per * 23 * 5 / 0.5
    face = per / 0.12 * (23**2 - edge**2) / 2 + (edge + 0.4) / 300
    to_step = (3 * ROOT2 + 19) / 300
    across = (edge - 12) / 300 + per / 0.12 * (15**2 - edge**2) / 2
    rest = per / 0.12 * (15.5 * ROOT2 + 16 * 24 + 17 * 2 + 18.5 * ROOT2 + 19 * 12 + 20 * 2)
    assert pin.tools[1].cutting_minutes == pytest.approx(start + face + to_step + across + rest)
