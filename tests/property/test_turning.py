"""What must be true of any contour: finishing is the contour, places do not change lengths, roughing never gouges."""

import math

from hypothesis import given
from hypothesis import strategies as st

from tests.fakes.lathe import run

HEAD = "G21 G18 G99\nG97 S1000 M3\nT0101\n"
step = st.integers(min_value=1, max_value=120).map(lambda tenths: tenths / 10)


@st.composite
def rising(draw):
    """Blocks of a shape that only rises to the left, as (kind, dz, dr, sense)."""
    kinds = st.sampled_from(("along", "up", "taper", "arc"))
    found = []
    for _ in range(draw(st.integers(min_value=1, max_value=6))):
        found.append((draw(kinds), draw(step), draw(step), draw(st.booleans())))
    return found


def written(pieces, z, r, *, mirrored=False):
    """The blocks of a shape from (z, r), and where it ends. Arcs are quarters of a circle."""
    lines = []
    side = 1 if mirrored else -1
    for kind, dz, dr, hollow in pieces:
        if kind == "arc":
            size = min(dz, dr)
            z, r = round(z + side * size, 4), round(r + size, 4)
            lines.append(f"G{2 if hollow is not mirrored else 3} X{2 * r:.4f} Z{z:.4f} R{size:.4f}")
            continue
        z = round(z + side * (dz if kind != "up" else 0.0), 4)
        r = round(r + (dr if kind != "along" else 0.0), 4)
        lines.append(f"G1 X{2 * r:.4f} Z{z:.4f}")
    return lines, z, r


def roughed(pieces, *, at=0.0, depth=2.0, stock="U1. W0.2", mirrored=False):
    """A program that roughs a shape whose first point is X20 at Z ``at``, and where the shape ends."""
    lines, z, r = written(pieces, at, 10.0, mirrored=mirrored)
    begin = at - 2.0 if mirrored else at + 2.0
    last = f"N20 G1 Z{z + (1.0 if mirrored else -1.0):.4f}"
    text = "\n".join(
        [
            f"{HEAD}G0 X{2 * r + 4:.4f} Z{begin:.4f}",
            f"G71 U{depth:.4f} R0.5",
            f"G71 P10 Q20 {stock} F0.3",
            "N10 G0 X20.",
            f"G1 Z{at:.4f}",
            *lines,
            last,
            "M30",
        ]
    )
    return text, r


@given(pieces=rising(), surface=st.booleans())
def test_finishing_is_as_long_as_the_contour_written_straight(pieces, surface):
    lines, _, _ = written(pieces, 0.0, 10.0)
    speed = "G96 S150\nG50 S2500\n" if surface else ""
    contour = ["N10 G0 X20.", "G1 Z0. F0.2", *lines, "N20 G1 U2. F0.1"]
    begin = f"{HEAD}{speed}G0 X300. Z2.\n"
    cycle = run(begin + "G70 P10 Q20\nM30\n" + "\n".join(contour))
    straight = run(begin + "\n".join(contour) + "\nM30")
    assert cycle.not_followed == straight.not_followed == []
    assert [m.length for m in cycle.cuts] == [m.length for m in straight.cuts]
    assert [m.minutes for m in cycle.cuts] == [m.minutes for m in straight.cuts]
    assert [m.end for m in cycle.cuts] == [m.end for m in straight.cuts]
    assert (cycle.moves[-1].end[0], cycle.moves[-1].end[2]) == (300.0, 2.0)


@given(
    pieces=rising(), shift=st.integers(min_value=-300, max_value=300), depth=st.sampled_from((0.7, 2.0, 5.0))
)
def test_moving_the_part_along_the_axis_changes_no_length(pieces, shift, depth):
    here = run(roughed(pieces, depth=depth)[0])
    there = run(roughed(pieces, at=float(shift), depth=depth)[0])
    assert len(here.moves) == len(there.moves)
    for one, other in zip(here.moves[1:], there.moves[1:], strict=True):
        assert abs(one.length - other.length) < 1e-6
        assert abs(one.end[2] + shift - other.end[2]) < 1e-6


@given(pieces=rising())
def test_a_mirrored_part_has_the_same_lengths(pieces):
    here = run(roughed(pieces)[0])
    there = run(roughed(pieces, stock="U1. W-0.2", mirrored=True)[0])
    assert here.not_followed == there.not_followed == []
    assert [round(m.length, 6) for m in here.moves[1:]] == [round(m.length, 6) for m in there.moves[1:]]


@given(pieces=rising(), depth=st.sampled_from((0.7, 2.0, 5.0)))
def test_roughing_leaves_its_stock_everywhere(pieces, depth):
    """No pass comes nearer than the shape with its stock, and every depth of it is cut away."""
    text, top = roughed(pieces, depth=depth)
    seen = run(text)
    assert seen.not_followed == []
    shape = _heights(pieces)
    area = 0.0
    cuts = [m for m in seen.cuts if m.code == "G71" and m.start[2] == 2.2 and m.start[0] == m.end[0]]
    for move in cuts[:-1]:
        r, far = move.start[0] / 2, move.end[2]
        for z, height in shape:
            if z + 0.2 > far + 1e-6:
                assert height + 0.5 <= r + 1e-4
        area += depth * (2.2 - far)
    removed = sum((top + 2.5 - 10.5) - (h - 10.0) for _, h in shape) * _STEP
    strip = depth * (2.2 - min(z for z, _ in shape) + 1)
    assert area <= removed + strip
    assert len(cuts) - 1 <= math.ceil((top + 2 - 10) / depth)


_STEP = 0.05


def _heights(pieces):
    """(z, radius) of the shape in steps of a twentieth along the axis, from Z2."""
    found = [(2.0 - n * _STEP, 10.0) for n in range(41)]
    z, r = 0.0, 10.0
    for kind, dz, dr, hollow in pieces:
        size = min(dz, dr)
        far = 0.0 if kind == "up" else size if kind == "arc" else dz
        rise = 0.0 if kind == "along" else size if kind == "arc" else dr
        for n in range(1, round(far / _STEP) + 1):
            way = n * _STEP
            up = rise * way / far if far else rise
            if kind == "arc":
                up = (
                    size - math.sqrt(max(size**2 - way**2, 0))
                    if hollow
                    else math.sqrt(max(size**2 - (size - way) ** 2, 0))
                )
            found.append((z - way, r + up))
        z, r = z - far, r + rise
    return found


WORDS = st.sampled_from(
    [
        "G0",
        "G1",
        "G2",
        "G3",
        "G4",
        "G28",
        "G32",
        "G34",
        "G50",
        "G53",
        "G54",
        "G68",
        "G69",
        "G70",
        "G71",
        "G72",
        "G73",
        "G74",
        "G75",
        "G76",
        "G80",
        "G83",
        "G90",
        "G91",
        "G92",
        "G94",
        "G96",
        "G97",
        "G98",
        "G99",
        "X0",
        "X10.",
        "X-5.",
        "X[#1]",
        "Z0.",
        "Z-10.",
        "Z5.",
        "U2.",
        "U-3.",
        "W-1.",
        "W1.",
        "R1.",
        "R-1.",
        "R0",
        "I1.",
        "K-2.",
        "P10",
        "P20",
        "P010060",
        "Q20",
        "Q100",
        "D2000",
        "D1.",
        "F0.2",
        "F-1",
        "S500",
        "S0",
        "T0101",
        "T2",
        ",C1.",
        ",R1.",
        ",A135.",
        "A30.",
        "C1.",
        "H90.",
        "N10",
        "N20",
        "M3",
        "M5",
        "L1",
        "Y2.",
    ]
)


@given(st.lists(st.lists(WORDS, min_size=1, max_size=7), max_size=12), st.sampled_from((None, "inch", "mm")))
def test_any_words_of_a_lathe_end_in_an_answer(blocks, units):
    seen = run("\n".join(" ".join(block) for block in blocks), units=units, most_blocks=5000)
    for move in seen.moves:
        assert move.length is None or 0 <= move.length < math.inf
        assert move.minutes is None or 0 <= move.minutes < math.inf
        assert all(place is None or math.isfinite(place) for place in move.end)
