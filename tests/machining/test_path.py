"""The tool path as it is drawn: it reaches exactly as far as the summary says, thinned or not."""

import itertools
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.machining.path import ToolPath, tool_path, within
from tracker.machining.path_thin import _between, thinned
from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise
from tracker.machining.summary import Summary
from tracker.nc.scan import read

TEXTS = sorted((Path(__file__).parents[2] / "sample_repo").rglob("*.nc"))
PROGRAMS = [one for one in TEXTS if one.parent.name != "sub"]
CALLED = {int(one.stem[1:]): one.read_bytes() for one in TEXTS if one.stem[1:].isdigit()}
TOLERANCE = 0.001


def path_of(
    text: str | bytes, setting: Setting | None = None, tolerance: float = TOLERANCE, *, marked: bool = False
) -> ToolPath:
    data = text.encode() if isinstance(text, str) else text
    return tool_path(
        data,
        setting or Setting(),
        read(data),
        tolerance=tolerance,
        mark=lambda block: block.line if marked else None,
    )


def reaches(path: ToolPath) -> dict[str | None, list[tuple[float, float]]]:
    """Extents of feed strands by tool, X Y Z."""
    found: dict[str | None, list[list[float]]] = {}
    for strand in path.strands:
        if not strand.rapid:
            own = found.setdefault(path.tools[strand.section].tool, [[], [], []])
            for point in strand.points:
                for axis in range(3):
                    own[axis].append(point[axis])
    return {tool: [(min(axis), max(axis)) for axis in own] for tool, own in found.items()}


def told(summary: Summary) -> dict[str | None, list[tuple[float, float]]]:
    return {
        tool.tool: [span or (0.0, 0.0) for span in (tool.x, tool.y, tool.z)]
        for tool in summary.tools
        if tool.z is not None
    }


HEAD = "%\nO1\nG20 G17 G90 G54\nT1 M6\nG0 X0. Y0.\nG43 H1 Z1.\nG1 Z-0.1 F10.\n"


@pytest.mark.parametrize("program", PROGRAMS, ids=lambda one: f"{one.parent.name}-{one.name}")
def test_the_sample_shop_reaches_as_far_as_the_summary_says(program):
    data = program.read_bytes()
    setting = Setting(called=CALLED.get)
    path, summary = path_of(data, setting), summarise(data, setting)
    assert path.feeds_left == 0
    assert reaches(path) == told(summary)
    thin, _ = within(path, 10, TOLERANCE)
    assert reaches(thin) == told(summary)


def test_rapids_and_feeds_are_told_apart_and_joined():
    text = HEAD + "X2.\nY1.\nG0 Z1.\nX5. Y5.\nM30\n"
    joined = path_of(text)
    assert [(one.rapid, len(one.points)) for one in joined.strands] == [(False, 4), (True, 3)]
    told_apart = path_of(text, marked=True)
    assert [(one.rapid, one.mark, len(one.points)) for one in told_apart.strands] == [
        (False, 7, 2),
        (False, 8, 2),
        (False, 9, 2),
        (True, 10, 2),
        (True, 11, 2),
    ]


def test_what_is_not_known_is_counted_and_not_drawn():
    path = path_of(HEAD + "G28 G91 Z0.\nG90\nX3.\nM30\n")
    assert path.rapids_left == 2  # X0 Y0 from nowhere, then Z from nowhere
    assert path.feeds_left == 1
    assert path.machine_moves >= 1
    assert path.feeds == 2


@pytest.mark.parametrize("way", ["G2", "G3"])
@pytest.mark.parametrize(("i", "j"), [(0.5, 0.0), (-0.5, 0.0), (0.3, 0.4), (0.0, 1.0)])
def test_a_whole_turn_keeps_its_bulges_and_its_tolerance(way, i, j):
    path = path_of(f"{HEAD}{way} I{i} J{j}\nM30\n", marked=True)
    points = path.strands[-1].points
    radius = math.hypot(i, j)
    assert points[0] == points[-1]
    for a, b in itertools.pairwise(points):
        middle = math.hypot((a[0] + b[0]) / 2 - i, (a[1] + b[1]) / 2 - j)
        assert radius - middle <= 2 * TOLERANCE * 1.001  # of the chord, and of what is left out
    assert reaches(path) == told(summarise(f"{HEAD}{way} I{i} J{j}\nM30\n".encode(), Setting()))


def test_a_helix_goes_down_evenly():
    points = path_of(f"{HEAD}G2 I0.5 Z-1.1\nM30\n", tolerance=1e-5, marked=True).strands[-1].points
    half = min(points, key=lambda one: abs(one[0] - 1.0))
    assert half[2] == pytest.approx(-0.6)


def test_a_lathe_has_diameters():
    text = "%\nO1\nG21 G18 G99\nT0101\nG97 S500 M3\nG0 X50. Z2.\nG1 Z-10. F0.2\nG2 X60. Z-15. R5.\nG0 X100. Z50.\nM30\n"
    setting = Setting(lathe=True)
    path = path_of(text, setting)
    assert path.lathe
    assert [tool.tool for tool in path.tools] == [None, "0101"]
    assert reaches(path) == told(summarise(text.encode(), setting))


def test_the_bottom_of_every_hole_is_there():
    path = path_of(HEAD + "G0 Z1.\nG81 X1. Y1. Z-0.5 R0.1 F5.\nX2.\nX3.\nG80\nM30\n")
    assert [one[2] for one in path.holes] == [(1.0, 1.0, -0.5), (2.0, 1.0, -0.5), (3.0, 1.0, -0.5)]


@pytest.mark.parametrize("cycle", ["G83 Q0.15", "G73 Q0.15", "G81", "G82 P1", "G84", "G85", "G89 P1"])
def test_the_bottom_of_a_hole_is_where_its_last_peck_ends(cycle):
    path = path_of(f"{HEAD}G0 Z1.\nG98 {cycle} X1. Y1. Z-1.16 R0.1 F5.\nX2.\nG80\nG0 Z1.\nG1 X4. Z-2.\nM30\n")
    assert [one[2] for one in path.holes] == [(1.0, 1.0, -1.16), (2.0, 1.0, -1.16)]


def test_a_called_program_is_drawn_where_it_is_called():
    called = b"O2\nG91\nX1.\nG90\nM99\n"
    path = path_of(HEAD + "M98 P2\nM98 P2\nM30\n", Setting(called={2: called}.get))
    assert reaches(path)["1"][0] == (0.0, 2.0)


def test_what_is_not_followed_is_named():
    assert path_of(HEAD + "M98 P77\nM30\n").not_followed


coordinates = st.floats(-100, 100, allow_nan=False)
strands = st.lists(st.tuples(coordinates, coordinates, coordinates), min_size=2, max_size=60)


@given(strands, st.floats(0.001, 50))
def test_thinning_keeps_ends_reach_and_tolerance(points, tolerance):
    kept = thinned(points, tolerance)
    assert (kept[0], kept[-1]) == (points[0], points[-1])
    for axis in range(3):
        assert min(p[axis] for p in kept) == min(p[axis] for p in points)
        assert max(p[axis] for p in kept) == max(p[axis] for p in points)
    assert set(kept) <= set(points)
    for point in points:
        near = min(off(point, a, b) for a, b in itertools.pairwise(kept))
        assert near <= tolerance * (1 + 1e-9) + 1e-9


def off(point, a, b) -> float:
    """How far a point lies from a straight way."""
    way = [q - p for p, q in zip(a, b, strict=True)]
    size = sum(one * one for one in way)
    t = 0.0 if not size else sum((p - q) * w for p, q, w in zip(point, a, way, strict=True)) / size
    t = min(max(t, 0.0), 1.0)
    return math.dist(point, [p + t * w for p, w in zip(a, way, strict=True)])


def test_a_straight_row_of_points_is_two_points():
    assert len(thinned([(float(x), 2.0 * x, 0.0) for x in range(1000)], 0.001)) == 2
    assert _between([(0.0, 0.0, 0.0)] * 2, 0, 1, 1.0, set()) is None


def test_many_points_are_brought_under_a_limit_and_reach_as_far():
    rows = "".join(
        f"X{(at % 200) / 10:.3f} Y{(at // 200) / 10:.3f} Z{-0.3 + math.sin(at / 7) / 9:.4f}\n"
        for at in range(20_000)
    )
    path = path_of(f"{HEAD}{rows}M30\n".encode(), tolerance=1e-6)
    assert path.points > 15_000
    thin, step = within(path, 3000, 1e-6)
    assert thin.points <= 3000
    assert step > 1e-6
    assert reaches(thin) == reaches(path)


def test_holes_in_their_thousands_are_drawn_once_where_they_cannot_be_told_apart():
    rows = "".join(f"X{at % 100 / 1000:.4f} Y{at // 100 / 1000:.4f}\n" for at in range(5000))
    path = path_of(f"{HEAD}G0 Z1.\nG81 Z-0.5 R0.1 F5.\n{rows}G80\nM30\n")
    thin, _ = within(path, 500, 1e-4)
    assert thin.points < path.points / 5
    assert reaches(thin) == reaches(path)
    assert len(thin.holes) < len(path.holes)
